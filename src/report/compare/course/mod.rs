//! More than two sessions, each compared with the first: since when does what differ? On a terminal,
//! as Markdown, as JSON, as a page.

mod html;
mod image;
mod markdown;
mod pairs;
mod plot;
mod table;
mod terminal;
mod verdict;
mod view;
mod words;

pub mod shape;

use std::io::{self, Write};

use crate::report::schema;

pub use html::course_html;
pub use markdown::course_markdown;
pub use terminal::course;
pub use view::Courses;

/// Writes the machine-readable course, two spaces to a level, ending in a line break.
///
/// # Errors
/// If the output cannot be written.
pub fn course_json(view: &Courses<'_>, out: &mut dyn Write) -> io::Result<()> {
    serde_json::to_writer_pretty(&mut *out, &shape::Document::of(view))?;
    writeln!(out)
}

/// The JSON Schema of the course, which is derived from it.
pub fn course_schema() -> String {
    schema::print(schema::of::<shape::Document>())
}
