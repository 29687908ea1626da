//! Text for a terminal of fixed width: cleaned, cut and wrapped.

pub(super) use crate::model::count;

use std::borrow::Cow;
use std::fmt::Write as _;

/// Text from data, made safe to print: control characters could move the cursor or recolour the
/// screen, and typographic signs would leave plain ASCII for no gain.
pub(super) fn clean(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\u{b0}' => out.push_str(" deg"),
            '\u{2013}' | '\u{2014}' | '\u{2212}' => out.push('-'),
            '\u{2018}' | '\u{2019}' => out.push('\''),
            '\u{201c}' | '\u{201d}' => out.push('"'),
            '\u{2026}' => out.push_str("..."),
            '\u{d7}' => out.push('x'),
            '\u{b7}' => out.push('*'),
            '\u{b1}' => out.push_str("+/-"),
            '\u{2265}' => out.push_str(">="),
            '\u{2264}' => out.push_str("<="),
            '\n' | '\t' => out.push(' '),
            c if c.is_control() => out.push('?'),
            c => out.push(c),
        }
    }
    out
}

/// Text without the characters that no XML 1.0 document may hold (production 2, `Char`).
pub(super) fn legal_xml(text: &str) -> Cow<'_, str> {
    let illegal = |c: char| {
        (c < ' ' && !matches!(c, '\t' | '\n' | '\r')) || matches!(c, '\u{fffe}' | '\u{ffff}')
    };
    if text.contains(illegal) { text.replace(illegal, "").into() } else { text.into() }
}

/// Columns that a text takes on a terminal.
pub(super) fn columns(text: &str) -> usize {
    text.chars().count()
}

/// At most `width` characters; what was cut ends in `~`.
pub(super) fn cut(text: &str, width: usize) -> String {
    if text.chars().count() <= width {
        return text.to_owned();
    }
    let mut out: String = text.chars().take(width.saturating_sub(1)).collect();
    out.push('~');
    out
}

/// Words in lines of at most `width`, the first after `first`, the rest after as many spaces as
/// `rest` says. A word longer than a line is cut.
pub(super) fn wrap(text: &str, first: &str, rest: usize, width: usize) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = first.to_owned();
    let mut empty = true;
    for word in clean(text).split_whitespace() {
        let room = width.saturating_sub(line.chars().count() + usize::from(!empty));
        if !empty && word.chars().count() > room {
            lines.push(std::mem::replace(&mut line, " ".repeat(rest)));
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(&cut(word, width.saturating_sub(line.chars().count())));
        empty = false;
    }
    lines.push(line);
    lines
}

/// A word that a shell takes as it stands, in quotes where it needs them.
pub fn quote(word: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || "-_./=:,+@%".contains(c);
    if !word.is_empty() && word.chars().all(plain) {
        return word.to_owned();
    }
    if word.chars().any(char::is_control) {
        // Spelt out: control characters must not reach the terminal by way of a command.
        let mut out = String::from("$'");
        for c in word.chars() {
            match c {
                '\'' | '\\' => out.extend(['\\', c]),
                c if c.is_control() => {
                    let mut bytes = [0; 4];
                    for byte in c.encode_utf8(&mut bytes).bytes() {
                        let _ = write!(out, "\\x{byte:02x}");
                    }
                }
                c => out.push(c),
            }
        }
        return out + "'";
    }
    format!("'{}'", word.replace('\'', "'\\''"))
}

#[cfg(test)]
mod tests {
    use super::{clean, quote, wrap};

    #[test]
    fn a_word_survives_the_shell() {
        assert_eq!(quote("nursery/run-1"), "nursery/run-1");
        assert_eq!(quote("a\u{1b}[2Jb"), "$'a\\x1b[2Jb'");
        assert_eq!(quote("it's here"), "'it'\\''s here'");
    }

    #[test]
    fn a_hostile_id_cannot_reach_the_terminal() {
        assert_eq!(clean("a\u{1b}[2Jb 3.1\u{b0}"), "a?[2Jb 3.1 deg");
    }

    #[test]
    fn no_line_is_longer_than_asked() {
        let text = "moved three degrees, needs ten; ".repeat(9) + &"w".repeat(200);
        for line in wrap(&text, "  not assessed: ", 4, 40) {
            assert!(line.chars().count() <= 40, "{line}");
        }
    }
}
