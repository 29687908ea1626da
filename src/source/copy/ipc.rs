//! Copies an Arrow IPC file or stream, batch by batch.

use std::collections::HashMap;
use std::fs::File;
use std::io::{BufReader, Write};
use std::ops::Range;
use std::sync::Arc;

use arrow::array::RecordBatch;
use arrow::compute::concat_batches;
use arrow::datatypes::{DataType, Schema, SchemaRef};
use arrow::error::ArrowError;
use arrow::ipc::reader::{FileReader, StreamReader};
use arrow::ipc::writer::{FileWriter, IpcWriteOptions, StreamWriter};

use crate::parquet_io::guard::guarded;
use crate::parquet_io::positioned::Positioned;
use crate::source::copy::array_edit::edited;
use crate::source::copy::edit::Edit;
use crate::source::copy::error::Trouble;
use crate::source::copy::ipc_codec::codec;
use crate::source::copy::table::{Piece, TableCopy, noted};
use crate::source::format::ipc_vet;
use crate::source::read_error::ReadError;

/// Batches of a file or a stream, one after the other.
struct Batches {
    schema: SchemaRef,
    metadata: HashMap<String, String>,
    next: Box<dyn Iterator<Item = Result<RecordBatch, ArrowError>>>,
    number: usize,
}

impl Batches {
    fn open(file: File, stream: bool) -> Result<Self, ReadError> {
        let bytes = file.metadata().map_err(ReadError::Read)?.len();
        let input = Positioned::new(Arc::new(file.try_clone().map_err(ReadError::Read)?), bytes);
        let vet = if stream { ipc_vet::stream } else { ipc_vet::file };
        vet(&input)?;
        let opened = guarded(|| -> Result<Self, ArrowError> {
            let file = BufReader::with_capacity(1 << 20, file);
            let number = 0;
            if stream {
                let reader = StreamReader::try_new(file, None)?;
                let (schema, metadata) = (reader.schema(), HashMap::new());
                return Ok(Self { schema, metadata, next: Box::new(reader), number });
            }
            let reader = FileReader::try_new(file, None)?;
            let (schema, metadata) = (reader.schema(), reader.custom_metadata().clone());
            Ok(Self { schema, metadata, next: Box::new(reader), number })
        })?;
        opened.map_err(|e| ReadError::columns(&e))
    }

    fn next(&mut self) -> Result<Option<RecordBatch>, ReadError> {
        let number = self.number;
        self.number += 1;
        let broken = |e| ReadError::decoding(&format!("record batch {number}"), &e);
        guarded(|| self.next.next())?.transpose().map_err(broken)
    }
}

/// A file or a stream that is written.
enum Out<W: Write> {
    File(FileWriter<W>),
    Stream(StreamWriter<W>),
}

impl<W: Write> Out<W> {
    fn write(&mut self, batch: &RecordBatch) -> Result<(), Trouble> {
        let written = match self {
            Self::File(writer) => writer.write(batch),
            Self::Stream(writer) => writer.write(batch),
        };
        written.map_err(|e| Trouble::writing(&e))
    }

    fn finish(self) -> Result<W, Trouble> {
        let done = match self {
            Self::File(mut writer) => writer.finish().and_then(|()| writer.into_inner()),
            Self::Stream(mut writer) => writer.finish().and_then(|()| writer.into_inner()),
        };
        done.map_err(|e| Trouble::writing(&e))
    }
}

/// Writes the wanted rows.
pub(super) fn write<W: Write>(
    open: &dyn Fn() -> Result<File, ReadError>,
    stream: bool,
    table: &TableCopy,
    out: W,
) -> Result<W, Trouble> {
    let mut batches = Batches::open(open()?, stream)?;
    if !stream {
        one_dictionary(&batches.schema, table)?;
    }
    let codec = codec(open()?, stream).map_err(ReadError::Read)?;
    let writing = |e: ArrowError| Trouble::writing(&e);
    let options = IpcWriteOptions::default().try_with_compression(codec).map_err(writing)?;
    let mut metadata = batches.schema.metadata().clone();
    let note = noted(metadata.get(TableCopy::KEY).map(String::as_str), &table.note);
    metadata.insert(TableCopy::KEY.to_owned(), note);
    let schema = Arc::new(Schema::new_with_metadata(batches.schema.fields().clone(), metadata));
    let mut out = if stream {
        Out::Stream(StreamWriter::try_new_with_options(out, &schema, options).map_err(writing)?)
    } else {
        let mut writer =
            FileWriter::try_new_with_options(out, &schema, options).map_err(writing)?;
        batches.metadata.iter().for_each(|(key, value)| writer.write_metadata(key, value));
        Out::File(writer)
    };
    let mut gathered = Gathered { schema: Arc::clone(&schema), held: Vec::new(), rows: 0, most: 0 };
    // Batches that a piece which is not yet whole needs, with the row that they begin with.
    let mut window: Vec<(u64, RecordBatch)> = Vec::new();
    let (mut at, mut next) = (0, 0);
    while next < table.pieces.len() {
        let Some(batch) = batches.next()? else {
            let rows = table.pieces[next].rows.end;
            return Err(ReadError::EndsEarly { at, rows }.into());
        };
        let batch = batch.with_schema(Arc::clone(&schema)).map_err(writing)?;
        gathered.most = gathered.most.max(batch.num_rows() as u64);
        window.push((at, batch));
        at += window.last().map_or(0, |(_, batch)| batch.num_rows() as u64);
        while let Some(piece) = table.pieces.get(next).filter(|piece| needs(piece).end <= at) {
            for batch in cut(&window, piece, &schema)? {
                gathered.push(batch, &mut out)?;
            }
            next += 1;
        }
        if let Some(piece) = table.pieces.get(next) {
            // An unchanged piece is written as it comes.
            if piece.edits.is_empty() {
                for batch in rows(&window, piece.rows.start..piece.rows.end.min(at)) {
                    gathered.push(batch, &mut out)?;
                }
            }
            let first = if piece.edits.is_empty() { at } else { needs(piece).start };
            window.retain(|(start, batch)| start + batch.num_rows() as u64 > first);
        }
    }
    gathered.flush(&mut out)?;
    out.finish()
}

/// A file has one dictionary for all of its batches: an id cannot be added to it.
fn one_dictionary(schema: &Schema, table: &TableCopy) -> Result<(), Trouble> {
    let edits = table.pieces.iter().flat_map(|piece| &piece.edits);
    for edit in edits.filter(|edit| matches!(edit, Edit::Id { .. })) {
        let field = edit.path().first().and_then(|name| schema.field_with_name(name).ok());
        if field.is_some_and(|field| matches!(field.data_type(), DataType::Dictionary(..))) {
            let what = format!("the ids in \"{}\" are a dictionary", edit.path().join("."));
            return Err(Trouble::Refused(what, "write the table as an Arrow stream or as Parquet"));
        }
    }
    Ok(())
}

/// Rows that a piece is made of: those that it takes values of as well.
fn needs(piece: &Piece) -> Range<u64> {
    let later = piece.edits.iter().map(|edit| match edit {
        Edit::Later { rows, .. } => *rows,
        _ => 0,
    });
    let (low, high) = later.fold((0, 0), |(low, high), rows| (rows.min(low), rows.max(high)));
    piece.rows.start.saturating_add_signed(low)..piece.rows.end.saturating_add_signed(high)
}

/// The batches of a piece, changed; of an unchanged one what is in the window of it.
fn cut(
    window: &[(u64, RecordBatch)],
    piece: &Piece,
    schema: &SchemaRef,
) -> Result<Vec<RecordBatch>, Trouble> {
    if piece.edits.is_empty() {
        return Ok(rows(window, piece.rows.clone()));
    }
    let wider = needs(piece);
    let parts = rows(window, wider.clone());
    let whole = concat_batches(schema, &parts).map_err(|e| ReadError::columns(&e))?;
    let first = (piece.rows.start - wider.start) as usize;
    let length = (piece.rows.end - piece.rows.start) as usize;
    Ok(vec![edited(&whole, first, length, &piece.edits)?])
}

fn rows(window: &[(u64, RecordBatch)], wanted: Range<u64>) -> Vec<RecordBatch> {
    let part = |(start, batch): &(u64, RecordBatch)| {
        let end = start + batch.num_rows() as u64;
        let (from, to) = (wanted.start.max(*start), wanted.end.min(end));
        (from < to).then(|| batch.slice((from - start) as usize, (to - from) as usize))
    };
    window.iter().filter_map(part).collect()
}

/// Rows that are joined to batches as large as those of the input.
struct Gathered {
    schema: SchemaRef,
    held: Vec<RecordBatch>,
    rows: u64,
    most: u64,
}

impl Gathered {
    fn push<W: Write>(&mut self, batch: RecordBatch, out: &mut Out<W>) -> Result<(), Trouble> {
        if batch.num_rows() == 0 {
            return Ok(());
        }
        let rows = batch.num_rows() as u64;
        if self.rows + rows > self.most {
            self.flush(out)?;
        }
        self.rows += rows;
        self.held.push(batch);
        Ok(())
    }

    fn flush<W: Write>(&mut self, out: &mut Out<W>) -> Result<(), Trouble> {
        match self.held.as_slice() {
            [] => return Ok(()),
            [one] => out.write(one)?,
            several => {
                let joined = concat_batches(&self.schema, several);
                out.write(&joined.map_err(|e| ReadError::columns(&e))?)?;
            }
        }
        self.held.clear();
        self.rows = 0;
        Ok(())
    }
}
