//! The fields of topics as columns, held to the frames of one of them.

use std::collections::HashMap;
use std::sync::Arc;

use arrow::array::{
    ArrayRef, FixedSizeListArray, Float64Array, NullArray, StringArray, StructArray,
    TimestampNanosecondArray,
};
use arrow::datatypes::{DataType, Field, Fields as ArrowFields, Schema};
use arrow::record_batch::RecordBatch;

use crate::source::format::mcap_messages::{Cell, Fields};
use crate::source::read_error::ReadError;
use crate::source::roles::shape::{ALIGNED, NOT_READ};
use crate::source::roles::words::state_fit;

/// Frames at the begin that came before another topic's first message are left out up to this
/// long: a recorder starts its topics one after the other.
const START_NS: i64 = 1_000_000_000;
/// Most columns of numbers that a log may have.
const MOST: usize = 4096;

/// Messages of a topic.
#[derive(Debug)]
pub(super) struct Topic {
    pub name: String,
    /// When each message was logged, and the stamp in it.
    logged_ns: Vec<i64>,
    stamps_ns: Vec<Option<i64>>,
    fields: Vec<TopicField>,
}

#[derive(Debug)]
struct TopicField {
    name: String,
    /// Numbers a message, where they go by place.
    width: Option<usize>,
    series: Vec<Series>,
}

/// One number or text over the messages that have it.
#[derive(Debug)]
struct Series {
    joint: String,
    messages: Vec<u32>,
    numbers: Vec<f64>,
    texts: Vec<String>,
}

impl Topic {
    /// A topic without messages.
    pub fn new(name: &str) -> Self {
        Self {
            name: name.to_owned(),
            logged_ns: Vec::new(),
            stamps_ns: Vec::new(),
            fields: Vec::new(),
        }
    }

    /// The name of a field's column.
    pub fn column(&self, field: &str) -> String {
        let topic = self.name.trim_matches('/').replace('/', ".");
        if field.is_empty() { topic } else { format!("{topic}.{field}") }
    }

    /// Adds a message.
    pub fn add(&mut self, logged_ns: i64, message: Fields) -> Result<(), String> {
        let number = self.logged_ns.len() as u32;
        self.logged_ns.push(logged_ns);
        self.stamps_ns.push(message.stamp_ns);
        for (name, cell) in message.fields {
            let place = self.fields.iter().position(|field| field.name == name);
            let place = place.unwrap_or_else(|| {
                self.fields.push(TopicField { name, width: None, series: Vec::new() });
                self.fields.len() - 1
            });
            self.fields[place].add(number, cell)?;
        }
        let all: usize = self.fields.iter().map(|field| field.series.len()).sum();
        if all > MOST {
            Err(format!("more than {MOST} numbers: is this a joint state?"))
        } else {
            Ok(())
        }
    }

    /// When the messages were: by the stamps in them, or when they were logged.
    fn times(&self, stamped: bool) -> Vec<i64> {
        let pairs = self.stamps_ns.iter().zip(&self.logged_ns);
        pairs.map(|(stamp, logged)| stamp.filter(|_| stamped).unwrap_or(*logged)).collect()
    }
}

impl TopicField {
    fn add(&mut self, message: u32, cell: Cell) -> Result<(), String> {
        match cell {
            Cell::Number(number) => self.series("").push(message, number),
            Cell::Text(text) => {
                let series = self.series("");
                series.messages.push(message);
                series.texts.push(text);
            }
            Cell::Vector(numbers) => {
                let width = *self.width.get_or_insert(numbers.len());
                if width != numbers.len() {
                    let (name, found) = (&self.name, numbers.len());
                    return Err(format!("\"{name}\" holds {found} values, and {width} before"));
                }
                for (place, number) in numbers.into_iter().enumerate() {
                    self.series(&place.to_string()).push(message, number);
                }
            }
            Cell::Named(numbers) => {
                for (joint, number) in numbers {
                    self.series(&joint).push(message, number);
                }
            }
        }
        Ok(())
    }

    fn series(&mut self, joint: &str) -> &mut Series {
        let place = self.series.iter().position(|series| series.joint == joint);
        let place = place.unwrap_or_else(|| {
            self.series.push(Series {
                joint: joint.to_owned(),
                messages: Vec::new(),
                numbers: Vec::new(),
                texts: Vec::new(),
            });
            self.series.len() - 1
        });
        &mut self.series[place]
    }
}

impl Series {
    fn push(&mut self, message: u32, number: f64) {
        self.messages.push(message);
        self.numbers.push(number);
    }

    /// For each frame the place of the last value at or before it.
    fn held(&self, times: &[i64], frames: &[i64]) -> Vec<Option<usize>> {
        let mut order: Vec<usize> = (0..self.messages.len()).collect();
        let time = |place: &usize| times[self.messages[*place] as usize];
        order.sort_by_key(time);
        let before = |frame: &i64| order.partition_point(|place| time(place) <= *frame);
        frames.iter().map(|frame| before(frame).checked_sub(1).map(|last| order[last])).collect()
    }
}

/// The columns of all topics over the frames of one.
pub(super) fn batch(
    topics: &[Topic],
    unread: &[(String, String)],
) -> Result<RecordBatch, ReadError> {
    let Some((base, lead)) = base(topics) else { return Err(ReadError::NoRows) };
    // Stamps of two clocks must not be held against each other: all topics by theirs, or none.
    let stamped = topics.iter().flat_map(|topic| &topic.stamps_ns).all(Option::is_some);
    let base_times = topics[base].times(stamped);
    let frames: Vec<i64> = lead.messages.iter().map(|m| base_times[*m as usize]).collect();
    let frames = &frames[begin(topics, &frames, stamped)..];
    let mut columns = Columns::default();
    columns.add(
        "stamp",
        Arc::new(TimestampNanosecondArray::from_iter_values(frames.iter().copied())),
        None,
    );
    for (place, topic) in topics.iter().enumerate() {
        let times = topic.times(stamped);
        for field in &topic.fields {
            let held: Vec<_> = field.series.iter().map(|s| s.held(&times, frames)).collect();
            let note = (place != base).then(|| aligned(field, &held, &times, frames, stamped));
            columns.add(&topic.column(&field.name), of_field(field, &held)?, note);
        }
    }
    for (name, what) in unread {
        let known = HashMap::from([(NOT_READ.to_owned(), what.clone())]);
        columns.fields.push(Field::new(name, DataType::Null, true).with_metadata(known));
        columns.arrays.push(Arc::new(NullArray::new(frames.len())));
    }
    let schema = Arc::new(Schema::new(columns.fields));
    RecordBatch::try_new(schema, columns.arrays).map_err(|e| ReadError::columns(&e))
}

#[derive(Default)]
struct Columns {
    fields: Vec<Field>,
    arrays: Vec<ArrayRef>,
}

impl Columns {
    fn add(&mut self, name: &str, array: ArrayRef, note: Option<String>) {
        let known = note.map(|note| (ALIGNED.to_owned(), note));
        let field = Field::new(name, array.data_type().clone(), true);
        self.fields.push(field.with_metadata(known.into_iter().collect::<HashMap<_, _>>()));
        self.arrays.push(array);
    }
}

/// The topic whose messages are the frames: best by the words of its name, else with most joints,
/// else with most messages.
fn base(topics: &[Topic]) -> Option<(usize, &Series)> {
    let all = topics.iter().enumerate().flat_map(|(place, topic)| {
        topic.fields.iter().filter_map(move |field| {
            let lead = field.series.iter().max_by_key(|series| series.numbers.len())?;
            let fit = state_fit(&topic.column(&field.name));
            let rank =
                (fit.is_none(), fit, std::cmp::Reverse((field.series.len(), lead.numbers.len())));
            (!lead.numbers.is_empty()).then_some((rank, place, lead))
        })
    });
    all.min_by_key(|(rank, place, _)| (*rank, *place)).map(|(_, place, lead)| (place, lead))
}

/// Frames before every topic has begun.
fn begin(topics: &[Topic], frames: &[i64], stamped: bool) -> usize {
    let Some(first) = frames.first() else { return 0 };
    let starts = topics.iter().filter_map(|topic| topic.times(stamped).into_iter().min());
    let late = starts.filter(|start| *start <= first.saturating_add(START_NS)).max();
    frames.iter().position(|frame| Some(*frame) >= late).unwrap_or(0)
}

fn of_field(field: &TopicField, held: &[Vec<Option<usize>>]) -> Result<ArrayRef, ReadError> {
    let numbers = |(series, held): (&Series, &Vec<Option<usize>>)| -> Float64Array {
        held.iter().map(|place| place.map(|place| series.numbers[place])).collect()
    };
    let pairs = || field.series.iter().zip(held);
    match field.series.as_slice() {
        [one] if !one.texts.is_empty() => {
            let texts = held[0].iter().map(|place| Some(one.texts.get((*place)?)?.as_str()));
            Ok(Arc::new(texts.collect::<StringArray>()))
        }
        [one] if one.joint.is_empty() => Ok(Arc::new(numbers((one, &held[0])))),
        all if field.width.is_some() => {
            let columns: Vec<Float64Array> = pairs().map(numbers).collect();
            let rows = columns.first().map_or(0, |column| column.iter().len());
            let value =
                |row: usize| columns.iter().map(move |column| column.iter().nth(row).flatten());
            let values: Float64Array = (0..rows).flat_map(value).collect();
            let item = Arc::new(Field::new("item", DataType::Float64, true));
            let list = FixedSizeListArray::try_new(item, all.len() as i32, Arc::new(values), None);
            Ok(Arc::new(list.map_err(|e| ReadError::columns(&e))?))
        }
        _ => {
            let name = |series: &Series| Field::new(&series.joint, DataType::Float64, true);
            let fields: ArrowFields = field.series.iter().map(name).collect();
            let columns = pairs().map(|pair| Arc::new(numbers(pair)) as ArrayRef).collect();
            let joints = StructArray::try_new(fields, columns, None);
            Ok(Arc::new(joints.map_err(|e| ReadError::columns(&e))?))
        }
    }
}

/// How a field was held to the frames, and how old its values were.
fn aligned(
    field: &TopicField,
    held: &[Vec<Option<usize>>],
    times: &[i64],
    frames: &[i64],
    stamped: bool,
) -> String {
    let mut ages: Vec<i64> = Vec::new();
    for (series, held) in field.series.iter().zip(held) {
        let pairs = held.iter().zip(frames);
        ages.extend(
            pairs.filter_map(|(place, frame)| {
                Some(frame - times[series.messages[(*place)?] as usize])
            }),
        );
    }
    ages.sort_unstable();
    let ms = |age: Option<&i64>| age.map_or(f64::NAN, |age| *age as f64 / 1e6);
    let (middle, most) = (ms(ages.get(ages.len() / 2)), ms(ages.last()));
    let by = if stamped { "stamp" } else { "log time" };
    format!(
        "last message at or before each frame (by {by}), age {middle:.1} ms in the median and \
         {most:.1} ms at most"
    )
}
