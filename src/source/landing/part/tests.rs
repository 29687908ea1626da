//! Files at every moment of their being written. Streams are written by the arrow crate, the
//! reference.

use std::error::Error;
use std::fs;
use std::sync::Arc;

use arrow::array::{Int64Array, RecordBatch};
use arrow::datatypes::{DataType, Field, Schema};
use arrow::ipc::reader::StreamReader;
use arrow::ipc::writer::StreamWriter;

use super::*;

type Tested = Result<(), Box<dyn Error>>;

/// A stream of batches of three rows that count on, with the end mark, and where each batch ends.
fn streamed(batches: i64) -> Result<(Vec<u8>, Vec<usize>), Box<dyn Error>> {
    let schema = Arc::new(Schema::new(vec![Field::new("n", DataType::Int64, false)]));
    let mut writer = StreamWriter::try_new(Vec::new(), &schema)?;
    let mut ends = vec![writer.get_ref().len()];
    for batch in 0..batches {
        let rows = Int64Array::from_iter_values(3 * batch..3 * batch + 3);
        writer.write(&RecordBatch::try_new(Arc::clone(&schema), vec![Arc::new(rows)])?)?;
        ends.push(writer.get_ref().len());
    }
    writer.finish()?;
    Ok((writer.into_inner()?, ends))
}

/// The rows that a part holds.
fn rows(part: &Part) -> Result<Vec<i64>, Box<dyn Error>> {
    let mut all = Vec::new();
    for batch in StreamReader::try_new(File::open(part.path())?, None)? {
        let batch = batch?;
        let column = batch.column(0).as_any().downcast_ref::<Int64Array>().ok_or("no numbers")?;
        all.extend(column.values());
    }
    Ok(all)
}

/// Cut at every byte: never more than the whole batches, and never the end before its mark.
#[test]
fn a_stream_gives_its_whole_batches_and_ends_with_its_mark() -> Tested {
    let dir = tempfile::tempdir()?;
    let path = dir.path().join("run.arrows");
    let (bytes, ends) = streamed(4)?;
    for cut in 0..=bytes.len() {
        fs::write(&path, &bytes[..cut])?;
        let whole = ends.iter().filter(|end| **end <= cut).count().saturating_sub(1);
        match look(&path, Mark::default(), true) {
            Look::Part(part) => {
                assert_eq!(rows(&part)?, (0..3 * whole as i64).collect::<Vec<_>>(), "{cut}");
                assert_eq!(part.ends, cut == bytes.len(), "{cut}");
            }
            Look::NotYet(_) => assert_eq!(whole, 0, "{cut}"),
            other => panic!("{cut}: {other:?}"),
        }
    }
    // The next part begins with the batch in which the row lies from which on to go on.
    fs::write(&path, &bytes[..ends[2]])?;
    let Look::Part(first) = look(&path, Mark::default(), false) else { panic!("no part") };
    let mark = first.mark(4);
    assert_eq!(mark, Mark { bytes: ends[1] as u64, rows: 3 });
    fs::write(&path, &bytes)?;
    let Look::Part(next) = look(&path, mark, false) else { panic!("no part") };
    assert_eq!((rows(&next)?, next.rows_before, next.ends), ((3..12).collect(), 3, true));
    assert!(next.is_copy() && next.mark(0) == mark);
    Ok(())
}

#[test]
fn text_gives_its_whole_lines_and_ends_where_it_is_closed() -> Tested {
    let dir = tempfile::tempdir()?;
    let path = dir.path().join("run.csv");
    let at = |text: &str, from, closed| {
        fs::write(&path, text).map(|()| look(&path, from, closed)).map_err(Box::<dyn Error>::from)
    };
    let start = Mark::default();
    for text in ["", "a,b", "a,b\n", "a,b\n1,2"] {
        assert!(matches!(at(text, start, true)?, Look::NotYet(_)), "{text:?}");
    }
    let Look::Part(part) = at("a,b\n1,2\n\n3,4\n5", start, true)? else { panic!("no part") };
    assert_eq!(fs::read_to_string(part.path())?, "a,b\n1,2\n\n3,4\n");
    assert!(!part.ends && part.path().ends_with("run.csv"));
    assert_eq!(part.mark(1), Mark { bytes: 9, rows: 1 });
    let Look::Part(next) = at("a,b\n1,2\n\n3,4\n5,6\n", part.mark(1), true)? else {
        panic!("none")
    };
    assert_eq!(fs::read_to_string(next.path())?, "a,b\n3,4\n5,6\n");
    assert_eq!((next.ends, next.rows_before, next.mark(1)), (true, 1, Mark { bytes: 13, rows: 2 }));
    let Look::Part(whole) = at("a,b\n1,2\n", start, true)? else { panic!("no part") };
    assert!(whole.ends && !whole.is_copy());
    let Look::Part(open) = at("a,b\n1,2\n", start, false)? else { panic!("no part") };
    assert!(!open.ends);
    Ok(())
}

#[test]
fn half_a_file_in_one_piece_is_nothing_yet_and_own_files_are_none() -> Tested {
    let dir = tempfile::tempdir()?;
    let path = dir.path().join("run.parquet");
    assert!(matches!(look(&path, Mark::default(), true), Look::Gone));
    for bytes in [&b""[..], b"PAR1", b"PAR1 and more", b"ARROW1\0\0 and more"] {
        fs::write(&path, bytes)?;
        assert!(matches!(look(&path, Mark::default(), true), Look::NotYet(_)), "{bytes:?}");
    }
    let own = dir.path().join("report.jsonl");
    fs::write(&own, "{\"kind\":\"session\",\"episode\":null,\"source\":null}\n")?;
    assert!(matches!(look(&own, Mark::default(), true), Look::Own));
    Ok(())
}
