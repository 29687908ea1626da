//! Conditions as people write them: `duration_s >= 2 and verdict != fail`.
//!
//! ```text
//! condition  = all { "or" all }
//! all        = one { "and" one }
//! one        = "not" one | "(" condition ")" | comparison
//! comparison = name operator value | name "in" "(" value { "," value } ")"
//! operator   = "==" | "=" | "!=" | "<" | "<=" | ">" | ">=" | "contains"
//! value      = number [ unit ] | word | "text" | 'text'
//! ```
//!
//! A name with spaces stands between backticks. What was not measured is neither true nor false: a
//! condition that hangs on it is not met, and neither is its opposite.

/// A condition.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Expression<C> {
    And(Vec<Self>),
    Or(Vec<Self>),
    Not(Box<Self>),
    Compare(C),
}

/// A comparison as it was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Written {
    pub name: String,
    pub operator: Operator,
    pub values: Vec<String>,
}

/// How two values are compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Operator {
    Equal,
    Unequal,
    Below,
    AtMost,
    Above,
    AtLeast,
    Contains,
    In,
}

impl Operator {
    fn named(word: &str) -> Option<Self> {
        Some(match word {
            "=" | "==" => Self::Equal,
            "!=" => Self::Unequal,
            "<" => Self::Below,
            "<=" => Self::AtMost,
            ">" => Self::Above,
            ">=" => Self::AtLeast,
            "contains" => Self::Contains,
            "in" => Self::In,
            _ => return None,
        })
    }
}

/// What is wrong with a condition.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Unclear {
    pub what: String,
}

fn unclear<T>(what: impl Into<String>) -> Result<T, Unclear> {
    Err(Unclear { what: what.into() })
}

impl<C> Expression<C> {
    /// Makes something else of each comparison.
    pub fn map<D, E>(self, of: &mut impl FnMut(C) -> Result<D, E>) -> Result<Expression<D>, E> {
        let all = |parts: Vec<Self>, of: &mut _| -> Result<Vec<_>, E> {
            parts.into_iter().map(|part| part.map(of)).collect()
        };
        Ok(match self {
            Self::And(parts) => Expression::And(all(parts, of)?),
            Self::Or(parts) => Expression::Or(all(parts, of)?),
            Self::Not(inner) => Expression::Not(Box::new(inner.map(of)?)),
            Self::Compare(one) => Expression::Compare(of(one)?),
        })
    }

    /// Whether it is met; none where that is not known.
    pub fn met(&self, of: &impl Fn(&C) -> Option<bool>) -> Option<bool> {
        match self {
            Self::Compare(one) => of(one),
            Self::Not(inner) => inner.met(of).map(|met| !met),
            Self::And(parts) => decided(parts.iter().map(|part| part.met(of)), false),
            Self::Or(parts) => decided(parts.iter().map(|part| part.met(of)), true),
        }
    }

    /// Shows each comparison.
    pub fn each<'e>(&'e self, show: &mut impl FnMut(&'e C)) {
        match self {
            Self::Compare(one) => show(one),
            Self::Not(inner) => inner.each(show),
            Self::And(parts) | Self::Or(parts) => parts.iter().for_each(|part| part.each(show)),
        }
    }
}

/// One part that is `by` decides; else all must be known.
fn decided(parts: impl Iterator<Item = Option<bool>>, by: bool) -> Option<bool> {
    let mut known = true;
    for part in parts {
        match part {
            Some(value) if value == by => return Some(by),
            Some(_) => {}
            None => known = false,
        }
    }
    known.then_some(!by)
}

/// A piece of the text.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Token {
    Open,
    Close,
    Comma,
    Sign(String),
    Word(String),
    /// Between quotes or backticks.
    Quoted(String),
}

impl Token {
    fn text(&self) -> String {
        match self {
            Self::Open => "(".to_owned(),
            Self::Close => ")".to_owned(),
            Self::Comma => ",".to_owned(),
            Self::Sign(text) | Self::Word(text) | Self::Quoted(text) => text.clone(),
        }
    }

    fn is(&self, keyword: &str) -> bool {
        matches!(self, Self::Word(word) if word.eq_ignore_ascii_case(keyword))
    }
}

const SIGNS: &[char] = &['=', '!', '<', '>'];

fn tokens(text: &str) -> Result<Vec<Token>, Unclear> {
    let mut found = Vec::new();
    let mut rest = text.trim_start();
    while let Some(first) = rest.chars().next() {
        let length = match first {
            '(' | ')' | ',' => {
                found.push(match first {
                    '(' => Token::Open,
                    ')' => Token::Close,
                    _ => Token::Comma,
                });
                1
            }
            '"' | '\'' | '`' => {
                let Some(end) = rest[1..].find(first) else {
                    return unclear(format!("a quote is opened and not closed: {rest}"));
                };
                found.push(Token::Quoted(rest[1..=end].to_owned()));
                end + 2
            }
            sign if SIGNS.contains(&sign) => {
                let end = rest.find(|c| !SIGNS.contains(&c)).unwrap_or(rest.len());
                found.push(Token::Sign(rest[..end].to_owned()));
                end
            }
            _ => {
                let ends =
                    |c: char| c.is_whitespace() || "(),\"'`".contains(c) || SIGNS.contains(&c);
                let end = rest.find(ends).unwrap_or(rest.len());
                found.push(Token::Word(rest[..end].to_owned()));
                end
            }
        };
        rest = rest[length..].trim_start();
    }
    Ok(found)
}

/// Reads a condition.
pub(super) fn parse(text: &str) -> Result<Expression<Written>, Unclear> {
    let tokens = tokens(text)?;
    let mut reader = Reader { tokens: &tokens, at: 0, depth: 0 };
    let found = reader.condition()?;
    match reader.peek() {
        None => Ok(found),
        Some(token) => unclear(format!("\"{}\" is one word too many", token.text())),
    }
}

/// Deeper brackets than this are nobody's.
const DEEPEST: usize = 64;

struct Reader<'t> {
    tokens: &'t [Token],
    at: usize,
    depth: usize,
}

impl<'t> Reader<'t> {
    fn peek(&self) -> Option<&'t Token> {
        self.tokens.get(self.at)
    }

    fn next(&mut self, wanted: &str) -> Result<&'t Token, Unclear> {
        let Some(token) = self.peek() else {
            return unclear(format!("it ends where {wanted} is expected"));
        };
        self.at += 1;
        Ok(token)
    }

    fn takes(&mut self, keyword: &str) -> bool {
        let here = self.peek().is_some_and(|token| token.is(keyword));
        self.at += usize::from(here);
        here
    }

    fn condition(&mut self) -> Result<Expression<Written>, Unclear> {
        let mut parts = vec![self.all()?];
        while self.takes("or") {
            parts.push(self.all()?);
        }
        Ok(if parts.len() == 1 { parts.remove(0) } else { Expression::Or(parts) })
    }

    fn all(&mut self) -> Result<Expression<Written>, Unclear> {
        let mut parts = vec![self.one()?];
        while self.takes("and") {
            parts.push(self.one()?);
        }
        Ok(if parts.len() == 1 { parts.remove(0) } else { Expression::And(parts) })
    }

    fn one(&mut self) -> Result<Expression<Written>, Unclear> {
        self.depth += 1;
        if self.depth > DEEPEST {
            return unclear("it is nested too deep");
        }
        let found = if self.takes("not") {
            Expression::Not(Box::new(self.one()?))
        } else if self.peek() == Some(&Token::Open) {
            self.at += 1;
            let inner = self.condition()?;
            match self.next("\")\"")? {
                Token::Close => inner,
                other => return unclear(format!("\"{}\" where \")\" is expected", other.text())),
            }
        } else {
            Expression::Compare(self.comparison()?)
        };
        self.depth -= 1;
        Ok(found)
    }

    fn comparison(&mut self) -> Result<Written, Unclear> {
        let name = match self.next("the name of a column")? {
            Token::Word(name) | Token::Quoted(name) => name.clone(),
            other => {
                let what = format!("\"{}\" where the name of a column is expected", other.text());
                return unclear(what);
            }
        };
        let sign = self.next("a comparison such as \">=\"")?;
        let sign_text = sign.text().to_lowercase();
        let Some(operator) = Operator::named(&sign_text) else {
            let what = format!("\"{}\" behind \"{name}\" is no comparison", sign.text());
            return unclear(what);
        };
        if operator != Operator::In {
            return Ok(Written { name, operator, values: vec![self.value()?] });
        }
        if self.next("\"(\"")? != &Token::Open {
            return unclear(format!("values behind \"{name} in\" stand in brackets: in (1, 2)"));
        }
        let mut values = vec![self.value()?];
        loop {
            match self.next("\")\"")? {
                Token::Comma => values.push(self.value()?),
                Token::Close => return Ok(Written { name, operator, values }),
                other => return unclear(format!("\"{}\" between values", other.text())),
            }
        }
    }

    /// A value; a number takes the unit behind it.
    fn value(&mut self) -> Result<String, Unclear> {
        let word = match self.next("a value")? {
            Token::Quoted(text) => return Ok(text.clone()),
            Token::Word(word) => word.clone(),
            other => return unclear(format!("\"{}\" where a value is expected", other.text())),
        };
        let keyword = |token: &Token| ["and", "or", "not"].iter().any(|word| token.is(word));
        match self.peek() {
            Some(unit @ Token::Word(text)) if word.parse::<f64>().is_ok() && !keyword(unit) => {
                self.at += 1;
                Ok(format!("{word} {text}"))
            }
            _ => Ok(word),
        }
    }
}

#[cfg(test)]
mod tests;
