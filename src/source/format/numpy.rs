//! `NumPy` arrays: `.npz` with one array for each column, `.npy` with named fields.
//!
//! One file is one episode, and the first axis of an array counts its frames. An array of one
//! number or text holds for all frames. Arrays of more than two axes are images: they are named
//! and not read.

use std::collections::HashMap;
use std::io::{Cursor, Read};
use std::sync::Arc;

use arrow::array::{ArrayRef, NullArray, UInt32Array};
use arrow::datatypes::{DataType, Field, Schema};
use arrow::record_batch::RecordBatch;
use npyz::{DType, NpyHeader};
use zip::ZipArchive;

use crate::model::brief;
use crate::parquet_io::guard::guarded;
use crate::source::format::memory_table::MemoryTable;
use crate::source::format::numpy_values::{Place, column};
use crate::source::format::packed::{self, LARGEST};
use crate::source::format::table::{Format, Refusal};
use crate::source::read_error::{ReadError, plain};
use crate::source::roles::shape::NOT_READ;
use crate::source::roles::words::{action_fit, state_fit, time_fit};

/// What to do about a relative that is not read.
const CONVERT: Option<&str> =
    Some("convert it to Parquet or MCAP: docs/pipelines.md, \"Other formats\"");

/// The longest header: that of an array of a thousand fields takes 30 KB.
const LONGEST: u64 = 1 << 20;
/// Brackets within brackets of a header.
const DEEPEST: usize = 32;

/// A zip archive of arrays.
pub(super) static ARCHIVE: Format = Format {
    endings: &["npz"],
    alone: true,
    head: b"PK\x03\x04",
    tail: b"",
    refused: &[
        Refusal { head: b"\x89HDF\r\n\x1a\n", what: "is HDF5, which is not read", hint: CONVERT },
        Refusal {
            head: b"SQLite format 3",
            what: "is a database, which is not read",
            hint: CONVERT,
        },
        Refusal {
            head: b"#ROSBAG V",
            what: "is a bag of version 1 or 2, which is not read",
            hint: CONVERT,
        },
    ],
    open: |opening| MemoryTable::open(&ARCHIVE, &opening, || archive(packed::stored(&opening)?)),
};
/// One array with named fields.
pub(super) static ARRAY: Format = Format {
    endings: &["npy"],
    alone: true,
    head: b"\x93NUMPY",
    tail: b"",
    refused: &[],
    open: |opening| MemoryTable::open(&ARRAY, &opening, || single(&packed::stored(&opening)?)),
};

/// An array by its header, and its bytes where they are read.
struct Array {
    name: String,
    header: NpyHeader,
    bytes: Vec<u8>,
}

fn archive(bytes: bytes::Bytes) -> Result<RecordBatch, ReadError> {
    let damaged = |e: zip::result::ZipError| ReadError::Damaged(format!("no zip archive ({e})"));
    let most = packed::most(bytes.len() as u64);
    let mut zip = ZipArchive::new(Cursor::new(bytes)).map_err(damaged)?;
    let mut arrays = Vec::new();
    let mut held = 0;
    for place in 0..zip.len() {
        let mut member = zip.by_index(place).map_err(damaged)?;
        let file = member.name().map_err(damaged)?.into_owned();
        let Some(name) = npyz::npz::array_name_from_file_name(&file) else { continue };
        let name = name.to_owned();
        arrays.push(array(&name, &mut member, &mut held, most)?);
    }
    if arrays.is_empty() {
        let what = "is a zip archive without arrays (*.npy)".to_owned();
        return Err(ReadError::Columns(what));
    }
    batch(&arrays)
}

fn single(bytes: &[u8]) -> Result<RecordBatch, ReadError> {
    let array = array("", &mut Cursor::new(bytes), &mut 0, LARGEST)?;
    if matches!(array.header.dtype(), DType::Record(_)) && array.header.shape().len() == 1 {
        return batch(&[array]);
    }
    let shape = shape_of(&array.header);
    Err(ReadError::Columns(format!(
        "holds one array ({shape}) without names of columns: save the columns by name, \
         numpy.savez(\"episode.npz\", time=..., state=..., action=...)"
    )))
}

/// Reads an array; of images the header only.
fn array(name: &str, from: &mut dyn Read, held: &mut u64, most: u64) -> Result<Array, ReadError> {
    let damaged = |what: String| ReadError::Damaged(format!("array \"{}\" {what}", brief(name)));
    let header = header(from)
        .map_err(|e| damaged(format!("has no header that can be read ({})", plain(&e))))?;
    let mut bytes = Vec::new();
    if is_read(&header) {
        let size = header.dtype().num_bytes().unwrap_or(0) as u64;
        let shape = header.shape().iter();
        let wanted = shape.copied().try_fold(size, u64::checked_mul).unwrap_or(u64::MAX);
        *held = held.saturating_add(wanted);
        if *held > LARGEST {
            return Err(packed::too_large());
        }
        if *held > most {
            return Err(damaged(format!("states {wanted} bytes, more than are in the file")));
        }
        // The length is what the header says: it is believed when that many bytes came.
        let read = from.take(wanted).read_to_end(&mut bytes);
        read.map_err(|e| damaged(format!("cannot be unpacked ({e})")))?;
        if bytes.len() as u64 != wanted {
            return Err(damaged(format!("has {} of {wanted} bytes", bytes.len())));
        }
    }
    Ok(Array { name: name.to_owned(), header, bytes })
}

/// Reads a header. npyz 0.9 reserves the length that it states, up to 4 GiB, and follows brackets
/// within brackets until the stack ends.
///
/// Reference: the `NumPy` format, version 3.0: the length stands in two or four bytes behind the version.
fn header(from: &mut dyn Read) -> Result<NpyHeader, String> {
    let mut stored = Vec::new();
    from.take(12).read_to_end(&mut stored).map_err(|e| e.to_string())?;
    let length = match stored.as_slice() {
        [_, _, _, _, _, _, 1, _, a, b, ..] => 10 + u64::from(u16::from_le_bytes([*a, *b])),
        [_, _, _, _, _, _, _, _, a, b, c, d] => {
            12 + u64::from(u32::from_le_bytes([*a, *b, *c, *d]))
        }
        _ => return Err("it ends early".to_owned()),
    };
    if length > LONGEST {
        return Err(format!("it states a length of {length} bytes"));
    }
    let rest = from.take(length.saturating_sub(12)).read_to_end(&mut stored);
    rest.map_err(|e| e.to_string())?;
    let mut open = 0_usize;
    for byte in &stored {
        match byte {
            b'[' | b'(' | b'{' => open += 1,
            b']' | b')' | b'}' => open = open.saturating_sub(1),
            _ => {}
        }
        if open > DEEPEST {
            return Err(format!("it is nested more than {DEEPEST} deep"));
        }
    }
    let read = guarded(|| NpyHeader::from_reader(stored.as_slice()));
    read.map_err(|_| "a length in it is wrong".to_owned())?.map_err(|e| e.to_string())
}

/// Whether an array's values are read: those of images are not, nor what takes no bytes.
fn is_read(header: &NpyHeader) -> bool {
    let (dtype, shape) = (header.dtype(), header.shape());
    let empty = dtype.num_bytes() == Some(0) || matches!(shape, [_, 0]);
    shape.len() <= 2 && !dtype.uses_pickled_array() && !empty
}

fn batch(arrays: &[Array]) -> Result<RecordBatch, ReadError> {
    let rows = rows(arrays)?;
    let (mut fields, mut columns) = (Vec::new(), Vec::new());
    let mut add = |name: &str, column: ArrayRef| {
        fields.push(Field::new(name, column.data_type().clone(), true));
        columns.push(column);
    };
    let mut left = Vec::new();
    for array in arrays {
        let made = if is_read(&array.header) { parts(array, rows)? } else { Vec::new() };
        if made.is_empty() {
            left.push(array);
        }
        for (name, column) in made {
            add(&name, column);
        }
    }
    for array in left {
        let known = HashMap::from([(NOT_READ.to_owned(), shape_of(&array.header))]);
        fields.push(Field::new(&array.name, DataType::Null, true).with_metadata(known));
        columns.push(Arc::new(NullArray::new(rows)));
    }
    let schema = Arc::new(Schema::new(fields));
    RecordBatch::try_new(schema, columns).map_err(|e| ReadError::columns(&e))
}

/// The columns of an array: one, or one for each field. None where it is not of the frames.
fn parts(array: &Array, rows: usize) -> Result<Vec<(String, ArrayRef)>, ReadError> {
    let (header, dtype) = (&array.header, array.header.dtype());
    let Some(size) = dtype.num_bytes() else { return Ok(Vec::new()) };
    let (own_rows, width) = match *header.shape() {
        [] => (1, None),
        [rows] => (rows as usize, None),
        [rows, width] => (rows as usize, Some(width as usize)),
        _ => return Ok(Vec::new()),
    };
    if !header.shape().is_empty() && own_rows != rows {
        return Ok(Vec::new());
    }
    let fields = match &dtype {
        DType::Record(fields) => fields.iter().map(|f| (f.name.clone(), &f.dtype)).collect(),
        plain => vec![(String::new(), plain)],
    };
    let mut made = Vec::new();
    let mut offset = 0;
    for (field, dtype) in fields {
        let name = match (array.name.as_str(), field.as_str()) {
            (name, "") => name.to_owned(),
            ("", field) => field.to_owned(),
            (name, field) => format!("{name}.{field}"),
        };
        let strides = header.strides();
        let place = Place {
            bytes: &array.bytes,
            offset,
            size,
            rows: own_rows,
            row: strides.first().map_or(0, |stride| *stride as usize),
            width,
            column: strides.get(1).map_or(0, |stride| *stride as usize),
        };
        offset += dtype.num_bytes().unwrap_or(0);
        let Some(column) = column(&place, dtype).map_err(|e| ReadError::columns(&e))? else {
            continue;
        };
        made.push((
            name,
            if header.shape().is_empty() { repeated(&column, rows)? } else { column },
        ));
    }
    Ok(made)
}

/// One value for all frames.
fn repeated(column: &ArrayRef, rows: usize) -> Result<ArrayRef, ReadError> {
    let first = UInt32Array::from(vec![0; rows]);
    arrow::compute::take(column, &first, None).map_err(|e| ReadError::columns(&e))
}

/// The number of frames: that of the time, else of the state or the action, else of most arrays.
fn rows(arrays: &[Array]) -> Result<usize, ReadError> {
    let framed = || arrays.iter().filter(|a| is_read(&a.header) && !a.header.shape().is_empty());
    let length = |array: &&Array| array.header.shape()[0];
    let time = |a: &&Array| a.header.shape().len() == 1 && time_fit(&a.name).is_some();
    let signal = |a: &&Array| state_fit(&a.name).is_some() || action_fit(&a.name).is_some();
    let common = || {
        let count =
            |array: &&Array| framed().filter(|other| length(other) == length(array)).count();
        framed().rev().max_by_key(count)
    };
    let first = framed().find(time).or_else(|| framed().find(signal)).or_else(common);
    let Some(first) = first else { return Err(ReadError::NoRows) };
    let rows = length(&first);
    if rows == 0 {
        return Err(ReadError::NoRows);
    }
    // An array that by its name belongs to the frames is never left out unseen.
    let named = |a: &&Array| time(a) || signal(a);
    if let Some(other) = framed().filter(named).find(|other| length(other) != rows) {
        return Err(ReadError::Columns(format!(
            "array \"{}\" has {} rows, and \"{}\" has {rows}: save one row for each frame in both",
            other.name,
            length(&other),
            first.name
        )));
    }
    Ok(rows as usize)
}

fn shape_of(header: &NpyHeader) -> String {
    let sizes: Vec<String> = header.shape().iter().map(u64::to_string).collect();
    let kind = if header.dtype().uses_pickled_array() { "Python objects" } else { "array" };
    match sizes.as_slice() {
        [] => kind.to_owned(),
        sizes => format!("{kind} of {}", sizes.join(" x ")),
    }
}

#[cfg(test)]
mod tests {
    use std::io::Write as _;

    use arrow::array::AsArray as _;
    use arrow::datatypes::{Float64Type, Int64Type};
    use npyz::WriterBuilder as _;

    use super::*;

    fn npy<T: npyz::AutoSerialize + Copy>(shape: &[u64], values: &[T]) -> std::io::Result<Vec<u8>> {
        let mut bytes = Vec::new();
        let options = npyz::WriteOptions::new().default_dtype().shape(shape);
        let mut writer = options.writer(&mut bytes).begin_nd()?;
        writer.extend(values.iter().copied())?;
        writer.finish()?;
        Ok(bytes)
    }

    type Tested = Result<(), Box<dyn std::error::Error>>;

    fn npz(members: &[(&str, Vec<u8>)]) -> Result<Vec<u8>, Box<dyn std::error::Error>> {
        let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
        for (name, bytes) in members {
            zip.start_file(format!("{name}.npy"), zip::write::SimpleFileOptions::default())?;
            zip.write_all(bytes)?;
        }
        Ok(zip.finish()?.into_inner())
    }

    fn said(result: Result<RecordBatch, ReadError>) -> String {
        result.err().map(|error| error.to_string()).unwrap_or_default()
    }

    #[test]
    fn arrays_become_columns() -> Tested {
        let bytes = npz(&[
            ("time", npy(&[3], &[0.0, 0.1, 0.2])?),
            ("state", npy(&[3, 2], &[1.0_f32, 2.0, 3.0, 4.0, 5.0, 6.0])?),
            ("rate", npy(&[], &[30_i64])?),
            ("images", npy(&[3, 1, 1, 1], &[0_u8, 1, 2])?),
            ("camera_matrix", npy(&[2, 2], &[1.0, 0.0, 0.0, 1.0])?),
        ])?;
        let batch = archive(bytes.into())?;
        assert_eq!(batch.num_rows(), 3);
        assert_eq!(batch["time"].as_primitive::<Float64Type>().values(), &[0.0, 0.1, 0.2]);
        assert_eq!(batch["rate"].as_primitive::<Int64Type>().values(), &[30, 30, 30]);
        let state = batch["state"].as_fixed_size_list().value(1);
        assert_eq!(state.as_primitive::<arrow::datatypes::Float32Type>().values(), &[3.0, 4.0]);
        let schema = batch.schema();
        let left = |name| schema.field_with_name(name).map(|f| f.metadata()[NOT_READ].clone());
        assert_eq!(left("images")?, "array of 3 x 1 x 1 x 1");
        assert_eq!(left("camera_matrix")?, "array of 2 x 2");
        Ok(())
    }

    #[test]
    fn arrays_of_other_lengths_are_named() -> Tested {
        let bytes =
            npz(&[("time", npy(&[3], &[0.0, 0.1, 0.2])?), ("action", npy(&[2, 1], &[1.0, 2.0])?)])?;
        let text = said(archive(bytes.into()));
        assert!(text.starts_with("array \"action\" has 2 rows, and \"time\" has 3"), "{text}");
        Ok(())
    }

    #[test]
    fn what_is_cut_short_is_refused() -> Tested {
        let whole = npy(&[3], &[0.0, 0.1, 0.2])?;
        let cut = whole[..whole.len() - 8].to_vec();
        let text = said(archive(npz(&[("time", cut)])?.into()));
        assert_eq!(text, "array \"time\" has 16 of 24 bytes: the file is damaged or cut short");
        let bytes = npz(&[("time", whole.clone())])?;
        assert!(said(archive(bytes[..bytes.len() / 2].to_vec().into())).contains("no zip archive"));
        assert!(said(single(&whole)).contains("array of 3) without names of columns"));
        assert!(said(archive(npz(&[])?.into())).contains("without arrays"));
        Ok(())
    }
}
