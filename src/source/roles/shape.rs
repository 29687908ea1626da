//! What a column's type can be: a vector, a number, a text, a point in time.

use arrow::datatypes::{DataType, Field, Schema, TimeUnit as ArrowTimeUnit};

use crate::source::roles::words::{ACTION, QUANTITY, STATE, Word, words};

/// Metadata of a field whose values a format does not read: what they are, in words.
pub(in crate::source) const NOT_READ: &str = "teleassay.not_read";

/// Metadata of a field that was held to the frames of another source: how.
pub(in crate::source) const ALIGNED: &str = "teleassay.aligned";

/// A column, or a field nested in one, by its path from the top.
pub(in crate::source) type ColumnPath = Vec<String>;

/// A column that could play a role.
#[derive(Debug, Clone)]
pub(in crate::source) struct Column {
    pub path: ColumnPath,
    pub field: Field,
}

impl Column {
    /// The name as shown and as declared: nested names joined by dots.
    pub fn name(&self) -> String {
        self.path.join(".")
    }

    /// What the type can be used for.
    pub fn shape(&self) -> Shape {
        Shape::of(self.field.data_type())
    }
}

/// What a type can be used for.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::source) enum Shape {
    /// A list of numbers; the width is known for fixed-size lists.
    List { element: DataType, width: Option<usize> },
    /// A struct of numbers: names of its fields, type of the first.
    Struct { fields: Vec<String>, element: DataType },
    /// A number.
    Number(DataType),
    /// A text, dictionary-encoded or not.
    Text,
    /// A point or span of time, with this many ticks a second.
    Time { per_second: f64 },
    /// Nothing of use here.
    Other(String),
}

impl Shape {
    /// The use of a type.
    pub fn of(data_type: &DataType) -> Self {
        match data_type {
            DataType::List(item) | DataType::LargeList(item) if is_number(item.data_type()) => {
                Self::List { element: item.data_type().clone(), width: None }
            }
            DataType::FixedSizeList(item, n) if is_number(item.data_type()) => {
                Self::List { element: item.data_type().clone(), width: Some(*n as usize) }
            }
            DataType::Struct(fields)
                if !fields.is_empty() && fields.iter().all(|f| is_number(f.data_type())) =>
            {
                Self::Struct {
                    fields: fields.iter().map(|f| f.name().clone()).collect(),
                    element: fields[0].data_type().clone(),
                }
            }
            DataType::Timestamp(unit, _) | DataType::Duration(unit) => {
                Self::Time { per_second: ticks_per_second(*unit) }
            }
            DataType::Utf8 | DataType::LargeUtf8 | DataType::Utf8View => Self::Text,
            DataType::Dictionary(_, value) => Self::of(value),
            number if is_number(number) => Self::Number(number.clone()),
            other => Self::Other(other.to_string()),
        }
    }

    /// The shape in plain words.
    pub fn words(&self) -> String {
        match self {
            Self::List { element, width: Some(n) } => format!("list of {n} x {}", lower(element)),
            Self::List { element, width: None } => format!("list of {}", lower(element)),
            Self::Struct { fields, element } => {
                format!("struct of {} x {}", fields.len(), lower(element))
            }
            Self::Number(number) => lower(number),
            Self::Text => "text".to_string(),
            Self::Time { per_second } => format!("timestamp in 1/{per_second} s"),
            Self::Other(text) => text.clone(),
        }
    }
}

/// A type's name in lower case: `float32`.
pub(in crate::source) fn lower(data_type: &DataType) -> String {
    data_type.to_string().to_lowercase()
}

/// Ticks of a unit to a second.
pub(in crate::source) fn ticks_per_second(unit: ArrowTimeUnit) -> f64 {
    match unit {
        ArrowTimeUnit::Second => 1.0,
        ArrowTimeUnit::Millisecond => 1e3,
        ArrowTimeUnit::Microsecond => 1e6,
        ArrowTimeUnit::Nanosecond => 1e9,
    }
}

/// Any width of float or integer.
pub(in crate::source) fn is_number(data_type: &DataType) -> bool {
    data_type.is_integer() || data_type.is_floating()
}

/// Every column; a struct that is no vector is shown by its fields, `waist.position`.
pub(in crate::source) fn columns(schema: &Schema) -> Vec<Column> {
    let mut found = Vec::new();
    for field in schema.fields() {
        collect(field, Vec::new(), &mut found);
    }
    found
}

fn collect(field: &Field, mut path: ColumnPath, found: &mut Vec<Column>) {
    path.push(field.name().clone());
    let shape = Shape::of(field.data_type());
    let opened = match &shape {
        Shape::Other(_) => true,
        Shape::Struct { fields, .. } => is_no_vector(fields),
        _ => false,
    };
    match field.data_type() {
        DataType::Struct(children) if opened => {
            for child in children {
                collect(child, path.clone(), found);
            }
        }
        _ => found.push(Column { path, field: field.clone() }),
    }
}

/// Whether fields are quantities of one joint, or of both leader and follower: then each is a
/// column of its own, and the struct is no vector.
fn is_no_vector(fields: &[String]) -> bool {
    let all: Vec<_> = fields.iter().map(|name| words(name)).collect();
    let says = |list: &[&str]| all.iter().any(|name| name.iter().any(|word| word.among(list)));
    let only = |name: &Vec<Word>| {
        !name.is_empty() && name.iter().all(|word| word.among(QUANTITY) || word.neutral())
    };
    (says(ACTION) && says(STATE)) || all.iter().all(only)
}

/// The field at a path.
pub(in crate::source) fn field_at<'a>(schema: &'a Schema, path: &[String]) -> Option<&'a Field> {
    let (first, rest) = path.split_first()?;
    let (_, top) = schema.column_with_name(first)?;
    rest.iter().try_fold(top, |field, name| match field.data_type() {
        DataType::Struct(children) => children.iter().find(|c| c.name() == name).map(AsRef::as_ref),
        _ => None,
    })
}

/// The column with a declared name: a column of the top by its whole name, which may hold dots,
/// or a nested one by its dotted path.
pub(in crate::source) fn find(schema: &Schema, name: &str) -> Option<Column> {
    let whole = vec![name.to_string()];
    let dotted = || name.split('.').map(str::to_string).collect::<ColumnPath>();
    let path = if field_at(schema, &whole).is_some() { whole } else { dotted() };
    let found =
        field_at(schema, &path).map(|field| Column { path: path.clone(), field: field.clone() });
    // A name within a struct may hold dots, too: then it is found as it is shown.
    found.or_else(|| columns(schema).into_iter().find(|column| column.name() == name))
}

/// The first columns' names, for an error; a table may have ten thousand.
pub(in crate::source) fn seen(schema: &Schema) -> String {
    const SHOWN: usize = 12;
    let all = columns(schema);
    let mut text: Vec<String> = all
        .iter()
        .take(SHOWN)
        .map(|c| format!("\"{}\" ({})", c.name(), c.shape().words()))
        .collect();
    if all.len() > SHOWN {
        text.push(format!("and {} more", all.len() - SHOWN));
    }
    if text.is_empty() { "none".to_string() } else { text.join(", ") }
}
