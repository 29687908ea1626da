//! Bad input: one clear line each, with the way out.

use std::sync::Arc;

use arrow::array::{ArrayRef, Float32Array};
use arrow::record_batch::RecordBatch;
use teleassay::source::{Dataset, Declared, Source, SourceError};

use super::support::{
    Layout, Outcome, open, open_declared, parquet, read, recording, refusal, rows, table,
};

#[test]
fn an_empty_folder_is_not_taken_for_a_wrong_path() -> Outcome {
    let folder = tempfile::tempdir()?;
    let empty = open(folder.path());
    assert!(matches!(&empty, Err(e) if e.nothing_found()));
    assert!(refusal(empty).contains("holds no tables"));
    std::fs::write(folder.path().join("notes.txt"), "no table")?;
    assert!(matches!(open(folder.path()), Err(e) if e.nothing_found()));
    let missing = open(&folder.path().join("nowhere"));
    assert!(matches!(missing, Err(SourceError::NoSuchPath(_))));
    let url = Dataset::open(&["s3://bucket/x".to_string()], &Declared::default());
    assert!(refusal(url).contains("URLs are not read yet"));
    Ok(())
}

#[test]
fn files_that_are_no_tables_say_why() -> Outcome {
    let folder = tempfile::tempdir()?;
    let good = folder.path().join("good.parquet");
    parquet(&good, &table(&rows(&[500]), Layout::List)?, 100)?;
    let bytes = std::fs::read(&good)?;
    let bad = folder.path().join("bad.parquet");
    let cases: [(&[u8], &str); 4] = [
        (&bytes[..bytes.len() / 2], "footer cannot be read"),
        (b"episode,time\n1,2\n", "is no format that is read"),
        (b"", "is empty"),
        (b"PAR1", "footer cannot be read"),
    ];
    for (content, reason) in cases {
        std::fs::write(&bad, content)?;
        let text = refusal(open(&bad));
        assert!(text.contains(reason), "{text}");
        assert_eq!(text.lines().count(), 1);
        // Next to a good file it is left out and the rest is read.
        let (seen, reasons) = read(&open(folder.path())?);
        assert_eq!((seen.len(), reasons.len()), (1, 1));
        assert!(reasons[0].contains(reason), "{}", reasons[0]);
    }
    Ok(())
}

#[test]
fn broken_pages_cost_their_episodes_only() -> Outcome {
    let folder = tempfile::tempdir()?;
    parquet(&folder.path().join("1.parquet"), &table(&rows(&[500]), Layout::List)?, 100)?;
    let all: Vec<_> = rows(&[500, 400]).split_off(500);
    let bad = folder.path().join("2.parquet");
    parquet(&bad, &table(&all, Layout::List)?, 100)?;
    let mut bytes = std::fs::read(&bad)?;
    let middle = bytes.len() / 2;
    bytes[middle - 400..middle].fill(0x5a);
    std::fs::write(&bad, bytes)?;
    let (seen, reasons) = read(&open(folder.path())?);
    assert_eq!(seen.len(), 1);
    assert!(reasons[0].contains("cannot be decoded"), "{}", reasons[0]);
    assert!(reasons[0].contains("episode 1 is left out"), "{}", reasons[0]);
    Ok(())
}

#[test]
fn a_file_that_changes_meanwhile_is_not_trusted() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("growing.parquet");
    parquet(&path, &table(&rows(&[500]), Layout::List)?, 100)?;
    let dataset = open(&path)?;
    parquet(&path, &table(&rows(&[500, 50]), Layout::List)?, 100)?;
    let (seen, reasons) = read(&dataset);
    assert!(seen.is_empty());
    assert!(reasons[0].contains("changed while it was being read"), "{}", reasons[0]);
    Ok(())
}

#[test]
fn a_cut_arrow_stream_is_reported() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("cut.arrows");
    let batch = table(&rows(&[500]), Layout::List)?;
    let mut bytes = Vec::new();
    let mut writer = arrow::ipc::writer::StreamWriter::try_new(&mut bytes, &batch.schema())?;
    writer.write(&batch)?;
    writer.finish()?;
    std::fs::write(&path, &bytes[..bytes.len() / 2])?;
    assert!(refusal(open(&path)).contains("cannot be decoded"));
    Ok(())
}

#[test]
fn tables_without_rows_are_nothing_to_check() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("none.parquet");
    parquet(&path, &table(&rows(&[5]), Layout::List)?.slice(0, 0), 100)?;
    assert!(matches!(open(&path), Err(e) if e.nothing_found()));
    Ok(())
}

#[test]
fn a_missing_role_names_the_columns_and_the_way_out() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("odd.parquet");
    let mut columns = recording(&rows(&[20]), Layout::List);
    columns[1].0 = "vector".to_string();
    parquet(&path, &RecordBatch::try_from_iter(columns)?, 100)?;
    let text = refusal(open(&path));
    assert!(text.contains("follower") && text.contains("\"vector\" (list of float32)"), "{text}");
    assert!(text.contains("[columns] state = "), "{text}");
    let declared = Declared { state: vec!["vector".into()], ..Declared::default() };
    assert_eq!(open_declared(&path, &declared)?.episodes(), 1);
    let declared = Declared { state: vec!["vektor".into()], ..Declared::default() };
    assert!(refusal(open_declared(&path, &declared)).contains("no column \"vektor\""));
    let declared = Declared { time: Some("leader".into()), ..declared };
    assert!(refusal(open_declared(&path, &declared)).contains("must be a number"));
    Ok(())
}

#[test]
fn two_candidates_are_named_with_the_line_that_decides() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("two.parquet");
    let mut columns = recording(&rows(&[20]), Layout::List);
    columns.push(("state".to_string(), columns[1].1.clone()));
    parquet(&path, &RecordBatch::try_from_iter(columns)?, 100)?;
    let text = refusal(open(&path));
    assert!(text.contains("\"follower\"") && text.contains("\"state\""), "{text}");
    assert!(text.contains("[columns] state = [\"follower\"]"), "{text}");
    Ok(())
}

#[test]
fn ten_thousand_columns_are_no_trouble() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("wide.parquet");
    let mut columns = recording(&rows(&[10]), Layout::List);
    let values: ArrayRef = Arc::new(Float32Array::from(vec![0.5; 10]));
    columns.extend((0..10_000).map(|i| (format!("sensor_{i}"), values.clone())));
    parquet(&path, &RecordBatch::try_from_iter(columns.clone())?, 100)?;
    let dataset = open(&path)?;
    assert_eq!(read(&dataset).0[0].time.len(), 10);
    columns.remove(1);
    parquet(&path, &RecordBatch::try_from_iter(columns)?, 100)?;
    let text = refusal(open(&path));
    assert!(text.contains("more") && text.len() < 1000, "{text}");
    Ok(())
}

#[test]
fn a_file_without_the_chosen_columns_is_left_out() -> Outcome {
    let folder = tempfile::tempdir()?;
    let columns = recording(&rows(&[20]), Layout::List);
    parquet(&folder.path().join("a.parquet"), &RecordBatch::try_from_iter(columns.clone())?, 100)?;
    let rest = columns[..2].to_vec();
    parquet(&folder.path().join("b.parquet"), &RecordBatch::try_from_iter(rest)?, 100)?;
    let (seen, reasons) = read(&open(folder.path())?);
    assert_eq!(seen.len(), 1);
    assert!(reasons[0].contains("no column \"leader\""), "{}", reasons[0]);
    Ok(())
}

#[test]
fn as_many_joints_as_declared_must_be_there() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("x.parquet");
    parquet(&path, &table(&rows(&[20]), Layout::List)?, 100)?;
    let joints = vec![teleassay::source::DeclaredJoint::default(); 2];
    let text = refusal(open_declared(&path, &Declared { joints, ..Declared::default() }));
    assert!(text.contains("declares 2 joints") && text.contains("holds 3"), "{text}");
    Ok(())
}
