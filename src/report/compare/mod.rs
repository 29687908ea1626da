//! A comparison of two sessions, and the course of many: on a terminal, as Markdown, as JSON, as a
//! page.

mod compared;
mod course;
mod html;
mod markdown;
mod sentence;
mod terminal;
mod words;

pub mod shape;

use std::io::{self, Write};

pub use compared::{Compared, ComparedSide};
pub use course::{Courses, course, course_html, course_json, course_markdown, course_schema};
pub use html::comparison_html;
pub use markdown::comparison_markdown;
pub use terminal::comparison;

/// Writes the machine-readable comparison, two spaces to a level, ending in a line break.
///
/// # Errors
/// If the output cannot be written.
pub fn comparison_json(view: &Compared<'_>, out: &mut dyn Write) -> io::Result<()> {
    serde_json::to_writer_pretty(&mut *out, &shape::Document::of(view))?;
    writeln!(out)
}

/// The JSON Schema of the comparison, which is derived from it.
pub fn comparison_schema() -> String {
    super::schema::print(super::schema::of::<shape::Document>())
}
