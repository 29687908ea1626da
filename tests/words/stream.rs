//! The words of a text, each with its line.

use crate::support::rust::{Kind, pieces};

/// One word; an empty one is the edge of a literal, of a block of comments, or of code in
/// backticks.
#[derive(Debug, Clone, Copy)]
pub struct Word<'a> {
    pub text: &'a str,
    pub line: usize,
}

/// The words of comments and string literals. Names within braces of a literal are code.
pub fn of_rust(source: &str) -> Vec<Word<'_>> {
    let mut found = Vec::new();
    for piece in pieces(source) {
        match piece.kind {
            // Comments on successive lines are one text.
            Kind::Code if piece.text.trim().is_empty() => {}
            Kind::Code => found.push(Word { text: "", line: piece.line }),
            Kind::Comment => add(piece.text, piece.line, false, &mut found),
            Kind::Text => add(piece.text, piece.line, true, &mut found),
        }
    }
    found
}

/// The words of a whole text.
pub fn of_text(text: &str) -> Vec<Word<'_>> {
    let mut found = Vec::new();
    add(text, 1, false, &mut found);
    found
}

fn add<'a>(text: &'a str, from: usize, literal: bool, found: &mut Vec<Word<'a>>) {
    let (mut line, mut start, mut braces) = (from, None, 0_i32);
    let mut escaped = false;
    for (at, c) in text.char_indices().chain([(text.len(), ' ')]) {
        let word = (c.is_alphanumeric() || c == '_') && !escaped && braces == 0;
        match start {
            None if word => start = Some(at),
            Some(from) if !word => {
                found.push(Word { text: &text[from..at], line });
                start = None;
            }
            _ => {}
        }
        if c == '`' {
            found.push(Word { text: "", line });
        }
        escaped = literal && c == '\\' && !escaped;
        if literal {
            braces = (braces + i32::from(c == '{') - i32::from(c == '}')).max(0);
        }
        line += usize::from(c == '\n');
    }
}
