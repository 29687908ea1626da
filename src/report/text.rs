//! Text for a terminal of fixed width: cleaned, cut and wrapped.

pub(super) use crate::model::count;

use std::borrow::Cow;
use std::fmt::Write as _;
use std::io::{self, Write};

use textwrap::core::display_width;
use textwrap::{Options, WordSeparator, WordSplitter, WrapAlgorithm};

/// Lines that one word may take: a hostile name must not fill the screen.
const LONGEST_WORD: usize = 4;

/// Text from data, made safe to print: control characters could move the cursor or recolour the
/// screen, and typographic signs would leave plain ASCII for no gain.
pub(crate) fn clean(text: &str) -> String {
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

/// Names in a sentence: `a, b and c`.
pub(super) fn list<'a>(names: impl IntoIterator<Item = &'a str>) -> String {
    let names: Vec<&str> = names.into_iter().collect();
    match names.split_last() {
        None => String::new(),
        Some((last, [])) => (*last).to_owned(),
        Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
    }
}

/// Writes lines without the spaces at their ends.
pub(super) fn put(out: &mut dyn Write, lines: &[String]) -> io::Result<()> {
    lines.iter().try_for_each(|line| writeln!(out, "{}", line.trim_end()))
}

/// Columns that a text takes on a terminal: two for a CJK sign, none for a combining mark.
pub(super) fn columns(text: &str) -> usize {
    display_width(text)
}

/// At most `width` columns; what was cut ends in `~`.
pub(super) fn cut(text: &str, width: usize) -> String {
    if columns(text) <= width {
        return text.to_owned();
    }
    let mut out = String::new();
    let mut room = width.saturating_sub(1);
    for c in text.chars() {
        let Some(left) = room.checked_sub(columns(c.encode_utf8(&mut [0; 4]))) else { break };
        room = left;
        out.push(c);
    }
    out.push('~');
    out
}

/// At most so many characters, whatever their width; what was cut ends in `~`.
pub(super) fn shorten(text: &str, characters: usize) -> Cow<'_, str> {
    if text.char_indices().nth(characters).is_none() {
        text.into()
    } else {
        let kept = text.chars().take(characters.saturating_sub(1));
        kept.chain(std::iter::once('~')).collect::<String>().into()
    }
}

/// A text with spaces behind it, up to so many columns.
pub(super) fn pad(text: &str, width: usize) -> String {
    format!("{text}{}", " ".repeat(width.saturating_sub(columns(text))))
}

/// Words in lines of at most `width`, the first after `first`, the rest after as many spaces as
/// `rest` says. A word longer than a line goes on in the next, over [`LONGEST_WORD`] lines at most.
pub(super) fn wrap(text: &str, first: &str, rest: usize, width: usize) -> Vec<String> {
    let indent = " ".repeat(rest);
    let room = width.saturating_sub(rest).max(1);
    let words: Vec<String> =
        clean(text).split_whitespace().map(|word| cut(word, LONGEST_WORD * room)).collect();
    let options = Options::new(width)
        .initial_indent(first)
        .subsequent_indent(&indent)
        .wrap_algorithm(WrapAlgorithm::FirstFit)
        .word_separator(WordSeparator::AsciiSpace)
        .word_splitter(WordSplitter::NoHyphenation);
    textwrap::wrap(&words.join(" "), options).into_iter().map(Cow::into_owned).collect()
}

/// A row of a table: names in columns of their widths, then the `rest`. A name that is longer than
/// its column goes on in the next line, so that nothing of it is lost.
pub(super) fn row(names: &[(&str, usize)], rest: &str) -> Vec<String> {
    let cells: Vec<Vec<String>> =
        names.iter().map(|(name, width)| wrap(name, "", 0, *width)).collect();
    let height = cells.iter().map(Vec::len).max().unwrap_or(0);
    let line = |at: usize| {
        let mut line = String::from(" ");
        for ((_, width), cell) in names.iter().zip(&cells) {
            line.push(' ');
            line.push_str(&pad(cell.get(at).map_or("", String::as_str), *width));
        }
        if at == 0 {
            line.push(' ');
            line.push_str(rest);
        }
        line.trim_end().to_owned()
    };
    (0..height).map(line).collect()
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
    use super::{clean, columns, cut, pad, quote, row, wrap};

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
        let text = "moved three degrees, needs ten; ".repeat(9) + &"w".repeat(200) + " \u{6839}";
        let lines = wrap(&text, "  not assessed: ", 4, 40);
        for line in &lines {
            assert!(columns(line) <= 40, "{line}");
        }
        // A long word goes on in the next line, and ends after four.
        assert_eq!(lines.concat().matches('w').count(), 143);
        assert_eq!(lines.concat().matches('~').count(), 1);
        assert_eq!(wrap("", "  ", 4, 40), ["  "]);
    }

    /// Wide signs take two columns, a combining mark none (Unicode Standard Annex 11).
    #[test]
    fn columns_align_whatever_the_script() {
        let names = ["elbow", "\u{624b}\u{9996}\u{5173}\u{8282}", "e\u{301}paule", "\u{ff11}x"];
        assert_eq!(names.map(columns), [5, 8, 6, 3]);
        for name in names {
            let lines = row(&[(name, 8), ("b", 3)], "7");
            let at = lines[0].find('7').map(|at| columns(&lines[0][..at]));
            assert_eq!((lines.len(), at), (1, Some(15)), "{lines:?}");
        }
        assert_eq!(pad("e\u{301}", 3), "e\u{301}  ");
        assert_eq!(cut("\u{624b}\u{9996}\u{5173}", 4), "\u{624b}~");
        assert_eq!(cut("e\u{301}paule", 3), "e\u{301}p~");
    }

    #[test]
    fn a_name_longer_than_its_column_loses_no_letter() {
        let lines = row(&[("external disturbance", 13), ("shoulder_lift_joint", 10)], "9.00");
        assert_eq!(lines, ["  external      shoulder_l 9.00", "  disturbance   ift_joint"]);
    }
}
