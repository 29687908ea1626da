//! Fills the templates. What all pages have in common (head, style, verdict, plot of an episode,
//! end) is theirs to include by name.

use std::io;

use minijinja::{AutoEscape, Environment, Value};

use super::super::cautions;
use crate::report::status::Status;

/// The style sheet of every page.
pub(super) const STYLE: &str = include_str!("style.css");

/// Renders a page. Whatever comes from the data is escaped.
pub(in crate::report) fn fill(page: &'static str, context: Value) -> io::Result<String> {
    let mut environment = Environment::new();
    environment.set_auto_escape_callback(|_| AutoEscape::Html);
    environment.add_global("style", markup(STYLE));
    environment.add_global("tool", concat!(env!("CARGO_PKG_NAME"), " ", env!("CARGO_PKG_VERSION")));
    environment.add_global("cautions", cautions::FULL);
    let parts = [
        ("head", include_str!("head.html")),
        ("verdict", include_str!("verdict.html")),
        ("plan", include_str!("plan.html")),
        ("episode", include_str!("episode.html")),
        ("files", include_str!("files.html")),
        ("script", include_str!("script.html")),
        ("end", include_str!("end.html")),
        ("page", page),
    ];
    for (name, text) in parts {
        environment.add_template(name, text).map_err(io::Error::other)?;
    }
    let template = environment.get_template("page").map_err(io::Error::other)?;
    template.render(context).map_err(io::Error::other)
}

/// Text that is markup of our own, and not to be escaped.
pub(in crate::report) fn markup(text: &str) -> Value {
    Value::from_safe_string(text.to_owned())
}

/// The CSS class of a status.
pub(in crate::report) fn class(status: Status) -> &'static str {
    match status {
        Status::Ok => "pass",
        Status::Warn => "warn",
        Status::Fail => "fail",
        Status::NotAssessed => "none",
    }
}
