//! Text that comes from a file, as a message may show it.

use std::borrow::Cow;

/// Characters of a name or a value that a message shows.
const NAME: usize = 80;

/// A name or a value: its first 80 characters, with those that steer a terminal written out.
pub fn brief(text: &str) -> Cow<'_, str> {
    cut(text, NAME)
}

/// The first characters of a text, with those that steer a terminal written out.
pub fn cut(text: &str, most: usize) -> Cow<'_, str> {
    let steers = |sign: char| sign.is_control() || turns(sign);
    let end = text.char_indices().nth(most).map(|(at, _)| at);
    if end.is_none() && !text.contains(steers) {
        return Cow::Borrowed(text);
    }
    let mut shown = String::new();
    for sign in text[..end.unwrap_or(text.len())].chars() {
        if steers(sign) {
            shown.extend(sign.escape_default());
        } else {
            shown.push(sign);
        }
    }
    if end.is_some() {
        shown.push('…');
    }
    Cow::Owned(shown)
}

/// Whether a character turns the direction of what follows (Unicode UAX 9, explicit formatting), which
/// shows a name as another one.
fn turns(sign: char) -> bool {
    matches!(sign, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn foreign_text_is_short_and_steers_nothing() {
        assert_eq!(brief("waist °C"), "waist °C");
        assert_eq!(brief("a\u{1b}[31m\nb\u{202e}"), "a\\u{1b}[31m\\nb\\u{202e}");
        let long = brief(&"ä".repeat(100_000)).into_owned();
        assert_eq!((long.chars().count(), long.ends_with("ä…")), (81, true));
    }
}
