//! Rust source text, taken apart into code, comments and string literals.

/// What a piece of source text is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    Code,
    Comment,
    Text,
}

/// A stretch of source text of one kind, and the line where it starts.
#[derive(Debug, Clone, Copy)]
pub struct Piece<'a> {
    pub kind: Kind,
    pub text: &'a str,
    pub line: usize,
}

/// All pieces of a source text, in order; together they are the whole text.
pub fn pieces(source: &str) -> Vec<Piece<'_>> {
    let (mut found, mut line, mut rest) = (Vec::new(), 1, source);
    let mut code = 0;
    let mut before = ' ';
    while let Some(next) = rest[code..].chars().next() {
        let literal = literal(&rest[code..], before);
        let Some((kind, length)) = literal else {
            before = next;
            code += next.len_utf8();
            continue;
        };
        for (kind, length) in [(Kind::Code, code), (kind, length)] {
            let (text, after) = rest.split_at(length);
            if length > 0 {
                found.push(Piece { kind, text, line });
            }
            line += text.matches('\n').count();
            rest = after;
        }
        (code, before) = (0, ' ');
    }
    if !rest.is_empty() {
        found.push(Piece { kind: Kind::Code, text: rest, line });
    }
    found
}

/// The comment or literal that starts here, with its length in bytes.
fn literal(text: &str, before: char) -> Option<(Kind, usize)> {
    if text.starts_with("//") {
        return Some((Kind::Comment, text.find('\n').unwrap_or(text.len())));
    }
    if text.starts_with("/*") {
        return Some((Kind::Comment, block(text)));
    }
    let word = before.is_alphanumeric() || before == '_';
    let raw = text.strip_prefix('b').unwrap_or(text);
    if let Some(hashes) = raw.strip_prefix('r').filter(|_| !word) {
        let count = hashes.len() - hashes.trim_start_matches('#').len();
        if hashes[count..].starts_with('"') {
            let start = text.len() - hashes.len() + count + 1;
            let closing = format!("\"{}", "#".repeat(count));
            let end = text[start..].find(&closing).map_or(text.len(), |at| start + at + count + 1);
            return Some((Kind::Text, end));
        }
    }
    if text.starts_with('"') {
        return Some((Kind::Text, quoted(text, '"')));
    }
    // A quote that is not closed after one character is a lifetime.
    let mut inside = text.strip_prefix('\'')?.chars();
    let (first, second) = (inside.next()?, inside.next()?);
    (first == '\\' || second == '\'').then(|| (Kind::Text, quoted(text, '\'')))
}

/// Length of a literal between two equal quotes.
fn quoted(text: &str, quote: char) -> usize {
    let mut escaped = false;
    for (at, c) in text.char_indices().skip(1) {
        if !escaped && c == quote {
            return at + 1;
        }
        escaped = !escaped && c == '\\';
    }
    text.len()
}

/// Length of a block comment; such comments nest.
fn block(text: &str) -> usize {
    let (mut depth, mut at) = (0, 0);
    while at < text.len() {
        let opens = text.as_bytes()[at..].starts_with(b"/*");
        let closes = text.as_bytes()[at..].starts_with(b"*/");
        depth += i32::from(opens) - i32::from(closes);
        at += if opens || closes { 2 } else { 1 };
        if depth == 0 {
            return at;
        }
    }
    text.len()
}

/// The code alone, line by line where it was: comments and literals are blank, and items that are
/// compiled for tests only are cut out.
pub fn code(source: &str) -> String {
    let blank = |text: &str| -> String {
        text.chars().map(|c| if c == '\n' { '\n' } else { ' ' }).collect()
    };
    let mut code = String::new();
    for piece in pieces(source) {
        let keep = piece.kind == Kind::Code;
        code.push_str(&if keep { piece.text.to_owned() } else { blank(piece.text) });
    }
    let mut from = 0;
    while let Some(at) = code[from..].find("#[cfg(test)]").map(|at| from + at) {
        let end = item(&code, at);
        let cut = blank(&code[at..end]);
        code.replace_range(at..end, &cut);
        from = at;
    }
    code
}

/// The end of the item that starts with attributes at a place.
fn item(code: &str, start: usize) -> usize {
    let mut depth = 0;
    let mut opened = false;
    for (at, c) in code[start..].char_indices() {
        match c {
            '{' | '(' | '[' => depth += 1,
            '}' | ')' | ']' => depth -= 1,
            _ => {}
        }
        opened |= c == '{' && depth == 1;
        if depth == 0 && (c == ';' || (opened && c == '}')) {
            return start + at + c.len_utf8();
        }
        if depth < 0 {
            return start + at;
        }
    }
    code.len()
}

#[test]
fn code_comments_and_literals_are_distinguished() {
    let source = "a('\"', b\"x\\\"//\") /* \" /* */ \" */ + &'c r#\"}\"# // \"d\n/// e\nfor\"f\"";
    let of = |kind| -> Vec<&str> {
        pieces(source).into_iter().filter(|p| p.kind == kind).map(|p| p.text).collect()
    };
    assert_eq!(of(Kind::Comment), ["/* \" /* */ \" */", "// \"d", "/// e"]);
    assert_eq!(of(Kind::Text), ["'\"'", "\"x\\\"//\"", "r#\"}\"#", "\"f\""]);
    assert_eq!(pieces(source).iter().map(|p| p.text).collect::<String>(), source);
    assert_eq!(pieces(source).last().map(|p| p.line), Some(3));
}

#[test]
fn only_the_tests_are_cut_out_of_the_code() {
    let source = "use a;\n#[cfg(test)]\nmod tests {\n  fn f() { \"}\" }\n}\n#[cfg(test)]\n\
                  #[path = \"x\"]\nmod more;\nuse b; // use c;\n";
    let words: Vec<String> = code(source).split_whitespace().map(str::to_owned).collect();
    assert_eq!(words, ["use", "a;", "use", "b;"]);
    assert_eq!(code(source).lines().count(), source.lines().count());
}
