//! Copies tables of text line by line, byte for byte.

use std::io::Write;

use crate::source::copy::error::Trouble;
use crate::source::copy::table::TableCopy;
use crate::source::read_error::ReadError;

/// What can be done with text.
const WAY_OUT: &str = "convert it to Parquet first: rows of text are only kept or left out";

/// Where the records of a table of text are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// A line of names, then a record to a row; quotes may hold line breaks.
    Separated,
    /// A line to a row, empty lines between.
    JsonLines,
}

/// Writes the wanted rows; `rows` is how many the table was found to have.
pub(super) fn write<W: Write>(
    text: &[u8],
    kind: Kind,
    rows: u64,
    table: &TableCopy,
    mut out: W,
) -> Result<W, Trouble> {
    if table.pieces.iter().any(|piece| !piece.edits.is_empty()) {
        let what = "values in a table of text are not changed".to_owned();
        return Err(Trouble::Refused(what, WAY_OUT));
    }
    let mut records = records(text, kind);
    if kind == Kind::Separated && !records.is_empty() {
        out.write_all(records.remove(0))?;
    }
    if records.len() as u64 != rows {
        let what =
            format!("has {} lines and {rows} rows: which is which is not clear", records.len());
        return Err(Trouble::Refused(what, WAY_OUT));
    }
    let mut open = false;
    for piece in &table.pieces {
        let wanted = records.get(piece.rows.start as usize..piece.rows.end as usize);
        for record in wanted.ok_or(ReadError::EndsEarly { at: rows, rows: piece.rows.end })? {
            // The last line of a file may have no end.
            if std::mem::replace(&mut open, !record.ends_with(b"\n")) {
                out.write_all(b"\n")?;
            }
            out.write_all(record)?;
        }
    }
    Ok(out)
}

/// The records with their ends of line.
fn records(text: &[u8], kind: Kind) -> Vec<&[u8]> {
    let (mut found, mut start, mut quoted) = (Vec::new(), 0, false);
    for (at, byte) in text.iter().enumerate() {
        match byte {
            b'"' if kind == Kind::Separated => quoted = !quoted,
            b'\n' if !quoted => {
                found.push(&text[start..=at]);
                start = at + 1;
            }
            _ => {}
        }
    }
    if start < text.len() {
        found.push(&text[start..]);
    }
    found.retain(|record| !record.iter().all(u8::is_ascii_whitespace));
    found
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::*;
    use crate::source::copy::table::Piece;

    fn kept(text: &str, kind: Kind, rows: u64) -> Result<String, Trouble> {
        let pieces = [0..1, 2..3].map(Piece::unchanged).to_vec();
        let table = TableCopy { input: 0, to: PathBuf::new(), pieces, note: String::new() };
        let written = write(text.as_bytes(), kind, rows, &table, Vec::new())?;
        Ok(String::from_utf8_lossy(&written).into_owned())
    }

    #[test]
    fn rows_stay_byte_for_byte() -> Result<(), Trouble> {
        let text = "\u{feff}run,note\r\n0, \"a\nb\"\r\n0,x\r\n1,\"say \"\"c\"\"\"";
        let wanted = "\u{feff}run,note\r\n0, \"a\nb\"\r\n1,\"say \"\"c\"\"\"";
        assert_eq!(kept(text, Kind::Separated, 3)?, wanted);
        let lines = "{\"a\": 1}\n\n{\"a\":2}\n{\"a\":3.0}\n";
        assert_eq!(kept(lines, Kind::JsonLines, 3)?, "{\"a\": 1}\n{\"a\":3.0}\n");
        assert!(kept(lines, Kind::JsonLines, 4).is_err());
        Ok(())
    }
}
