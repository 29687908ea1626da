//! One episode's frames while its rows arrive.

/// One episode's frames while they arrive.
#[derive(Debug, Default)]
pub(in crate::source) struct Frames {
    pub time_s: Vec<f64>,
    pub state: Vec<f32>,
    pub action: Vec<f32>,
    /// Optional vectors and series, in the order in which they are wanted.
    pub vectors: Vec<Vec<f32>>,
    pub series: Vec<Vec<f64>>,
    pub filled: usize,
    pub ragged_rows: u32,
}
