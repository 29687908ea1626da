//! Status words: readable without colour, coloured only where something is wrong.

use anstyle::{AnsiColor, Color, Style};

use crate::model::{Severity, Verdict};

/// How something stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Status {
    Ok,
    Warn,
    Fail,
    NotAssessed,
}

impl Status {
    /// Symbol and word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Ok => ". ok",
            Self::Warn => "! warn",
            Self::Fail => "x FAIL",
            Self::NotAssessed => "- n/a",
        }
    }

    /// Symbol and word with its colour.
    pub fn painted(self) -> String {
        let style = match self {
            Self::Ok | Self::NotAssessed => return self.word().to_owned(),
            Self::Warn => Style::new().fg_color(Some(Color::Ansi(AnsiColor::Yellow))),
            Self::Fail => Style::new().fg_color(Some(Color::Ansi(AnsiColor::Red))).bold(),
        };
        format!("{style}{}{style:#}", self.word())
    }

    /// Painted, filled up to the width of the widest word.
    pub fn column(self) -> String {
        format!("{}{}", self.painted(), " ".repeat(6 - self.word().len()))
    }
}

impl From<Severity> for Status {
    fn from(severity: Severity) -> Self {
        match severity {
            Severity::Warn => Self::Warn,
            Severity::Fail => Self::Fail,
        }
    }
}

impl From<Verdict> for Status {
    fn from(verdict: Verdict) -> Self {
        match verdict {
            Verdict::Pass => Self::Ok,
            Verdict::Warn => Self::Warn,
            Verdict::Fail => Self::Fail,
        }
    }
}
