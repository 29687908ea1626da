//! What is changed in a stretch of rows. Everything else stays as it is, to the bit.

/// Where the value of one joint is in a row: a column, and the place in its list if it is one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cell {
    /// The column's path from the top.
    pub path: Vec<String>,
    /// Place in the list; none for a single number.
    pub index: Option<usize>,
}

/// An id that is written in place of the stored one.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum NewId {
    /// A whole number.
    Number(i64),
    /// A text.
    Text(String),
}

/// Changes of one number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Arithmetic {
    /// Whole turns are added so that it lies within one turn from `start` on.
    Turns {
        /// The smallest number that is written.
        start: f64,
        /// One turn.
        turn: f64,
    },
    /// It is multiplied.
    Times(f64),
    /// This is added.
    Plus(f64),
}

impl Arithmetic {
    /// The changed number; what is no number stays so, and what need not change stays to the bit.
    pub fn of(self, value: f64) -> f64 {
        match self {
            Self::Turns { start, turn } => {
                let turns = ((value - start) / turn).floor();
                if turns == 0.0 { value } else { value - turns * turn }
            }
            Self::Times(factor) => value * factor,
            Self::Plus(term) => value + term,
        }
    }
}

/// One change.
#[derive(Debug, Clone, PartialEq)]
pub enum Edit {
    /// Two values of each list change places.
    Exchange {
        /// The column.
        path: Vec<String>,
        /// The two places.
        places: (usize, usize),
    },
    /// The column takes the values of another one of the same type.
    TakeFrom {
        /// The column.
        path: Vec<String>,
        /// The other one.
        other: Vec<String>,
    },
    /// The column takes the values of rows that lie so many rows later, or earlier if below zero.
    Later {
        /// The column.
        path: Vec<String>,
        /// How many rows.
        rows: i64,
    },
    /// Numbers of one joint are changed.
    Number {
        /// Where they are.
        cell: Cell,
        /// How.
        change: Arithmetic,
    },
    /// All rows get this id.
    Id {
        /// The episode column.
        path: Vec<String>,
        /// The id.
        id: NewId,
    },
    /// Rows are counted from a number on.
    Count {
        /// The frame column.
        path: Vec<String>,
        /// The number of the first row.
        first: u64,
    },
}

impl Edit {
    /// The column that is changed.
    pub fn path(&self) -> &[String] {
        match self {
            Self::Exchange { path, .. }
            | Self::TakeFrom { path, .. }
            | Self::Later { path, .. }
            | Self::Id { path, .. }
            | Self::Count { path, .. } => path,
            Self::Number { cell, .. } => &cell.path,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Arithmetic;

    #[test]
    fn whole_turns_are_added_and_nothing_else_is_touched() {
        let change = Arithmetic::Turns { start: 10.0, turn: 360.0 };
        for (value, wanted) in [(-170.0, 190.0), (170.0, 170.0), (10.0, 10.0), (371.0, 11.0)] {
            assert_eq!(change.of(value), wanted);
        }
        assert!(change.of(f64::NAN).is_nan());
        assert_eq!(Arithmetic::Times(2.0).of(1.5), 3.0);
        assert_eq!(Arithmetic::Plus(-0.5).of(1.5), 1.0);
    }
}
