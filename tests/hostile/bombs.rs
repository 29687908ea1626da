//! Parquet files that state far more than they hold.

use std::error::Error;
use std::fs::File;
use std::path::Path;

use parquet::arrow::ArrowWriter;
use parquet::basic::{BrotliLevel, Compression, Encoding, GzipLevel, ZstdLevel};
use parquet::file::properties::WriterProperties;
use parquet::file::reader::{FileReader as _, SerializedFileReader};
use parquet::schema::types::ColumnPath;

use super::patch::{footer, number, only_footer, varint, zigzag};
use super::run::refused;
use crate::support::binary::Tested;
use crate::support::tables::session;

/// Writes a session; gives its bytes, and where the chunk of a column begins and ends.
fn written(
    path: &Path,
    options: WriterProperties,
    column: &str,
) -> Result<(Vec<u8>, usize, usize), Box<dyn Error>> {
    let batch = session(1)?;
    let mut writer = ArrowWriter::try_new(File::create(path)?, batch.schema(), Some(options))?;
    writer.write(&batch)?;
    writer.close()?;
    let file = SerializedFileReader::new(File::open(path)?)?;
    let group = file.metadata().row_group(0);
    let named = group.columns().iter().find(|chunk| chunk.column_path().string() == column);
    let (start, length) = named.ok_or("no such column")?.byte_range();
    Ok((std::fs::read(path)?, start as usize, (start + length) as usize))
}

fn codecs() -> Vec<(&'static str, Compression)> {
    vec![
        ("none", Compression::UNCOMPRESSED),
        ("snappy", Compression::SNAPPY),
        ("gzip", Compression::GZIP(GzipLevel::default())),
        ("lz4", Compression::LZ4_RAW),
        ("zstd", Compression::ZSTD(ZstdLevel::default())),
        ("brotli", Compression::BROTLI(BrotliLevel::default())),
    ]
}

/// Before the headers were looked at, each reserved 2 GiB.
#[test]
fn a_page_that_states_two_gigabytes_is_refused() -> Tested {
    let dir = tempfile::tempdir()?;
    for (name, codec) in codecs() {
        let path = dir.path().join(format!("{name}.parquet"));
        let options = WriterProperties::builder()
            .set_compression(codec)
            .set_dictionary_enabled(false)
            .build();
        let (mut bytes, start, end) = written(&path, options, "time")?;
        // Behind the type of the page stands what it unpacks to.
        number(&mut bytes, start, 0x15, 1, i64::from(i32::MAX), end)?;
        std::fs::write(&path, bytes)?;
        refused(&path, "unpack to 2147483647")?;
    }
    Ok(())
}

#[test]
fn a_dictionary_of_two_thousand_million_values_is_refused() -> Tested {
    let dir = tempfile::tempdir()?;
    let path = dir.path().join("dictionary.parquet");
    let (mut bytes, start, end) = written(&path, WriterProperties::builder().build(), "time")?;
    // Type, two sizes, then the struct that describes a dictionary, which begins with the number.
    let mut at = start;
    while bytes[at] != 0x4c {
        at += 1;
    }
    number(&mut bytes, at + 1, 0x15, 0, i64::from(i32::MAX), end)?;
    std::fs::write(&path, bytes)?;
    refused(&path, "a page states 2147483647 values")
}

/// A text of 200 KB a million times, each of which takes a few bits.
#[test]
fn a_long_text_that_is_referred_to_without_end_is_refused() -> Tested {
    let dir = tempfile::tempdir()?;
    for (name, encoding) in [("dictionary", None), ("delta", Some(Encoding::DELTA_BYTE_ARRAY))] {
        let path = dir.path().join(format!("{name}.parquet"));
        let batch = session(10)?;
        let long = "seedling ".repeat(22_000);
        let texts = arrow::array::StringArray::from_iter_values(std::iter::repeat_n(
            long.as_str(),
            batch.num_rows(),
        ));
        let texts: arrow::array::ArrayRef = std::sync::Arc::new(texts);
        let batch = crate::support::tables::with(&batch, "task", &texts)?;
        let mut options = WriterProperties::builder();
        if let Some(encoding) = encoding {
            let task = ColumnPath::from("task");
            options = options
                .set_column_dictionary_enabled(task.clone(), false)
                .set_column_encoding(task, encoding);
        }
        let file = File::create(&path)?;
        let mut writer = ArrowWriter::try_new(file, batch.schema(), Some(options.build()))?;
        for start in (0..batch.num_rows()).step_by(100) {
            writer.write(&batch.slice(start, 100.min(batch.num_rows() - start)))?;
        }
        writer.close()?;
        let ran = super::run::watched(&["audit".as_ref(), path.as_os_str()])?;
        assert!(ran.memory < 700 << 20, "{name}: {} bytes", ran.memory);
        let said = String::from_utf8_lossy(&ran.output.stdout);
        let all = format!("{said}{}", String::from_utf8_lossy(&ran.output.stderr));
        assert!(all.contains("a page holds texts of"), "{name}: {all}");
    }
    Ok(())
}

/// Groups within groups; the stack of the library overflowed.
#[test]
fn a_schema_a_million_deep_is_refused() -> Tested {
    let dir = tempfile::tempdir()?;
    let path = dir.path().join("deep.parquet");
    let count = 1_000_000;
    let mut stored = vec![0x15, 2, 0x19, 0xfc];
    stored.extend(varint(count));
    for _ in 0..count {
        // A name of one letter, one child.
        stored.extend([0x48, 1, b'a', 0x15, 2, 0]);
    }
    stored.extend([0x16, 0, 0x19, 0x0c, 0]);
    std::fs::write(&path, only_footer(&stored))?;
    refused(&path, "nested more than 32 deep")
}

#[test]
fn lists_that_the_footer_does_not_hold_are_refused() -> Tested {
    let dir = tempfile::tempdir()?;
    let path = dir.path().join("lists.parquet");
    for (kind, count) in [(0xfc, 1_000_000), (0xf1, 2_000_000_000), (0xf2, 2_000_000_000)] {
        // An unknown field, and lists within it that each state so many elements.
        let mut stored = vec![0x15, 2, 0xe9, 0xf9];
        stored.extend(varint(1000));
        for _ in 0..1000 {
            stored.push(kind);
            stored.extend(varint(count));
        }
        std::fs::write(&path, only_footer(&stored))?;
        refused(&path, "footer cannot be read")?;
    }
    Ok(())
}

#[test]
fn more_rows_than_there_are_bytes_are_refused() -> Tested {
    let dir = tempfile::tempdir()?;
    let path = dir.path().join("rows.parquet");
    let (bytes, ..) = written(&path, WriterProperties::builder().build(), "time")?;
    let rows = session(1)?.num_rows() as i64;
    for count in [i64::MAX, 4_000_000_000, -1] {
        let changed = footer(&bytes, &zigzag(rows), &zigzag(count))?;
        std::fs::write(&path, changed)?;
        refused(&path, "the Parquet footer")?;
    }
    Ok(())
}

/// Sound tables are read whatever their codec, pages and encodings.
#[test]
fn sound_tables_are_believed() -> Tested {
    let dir = tempfile::tempdir()?;
    for (name, codec) in codecs() {
        let path = dir.path().join(format!("{name}.parquet"));
        let options = WriterProperties::builder()
            .set_compression(codec)
            .set_data_page_row_count_limit(50)
            .set_column_encoding(ColumnPath::from("task"), Encoding::DELTA_BYTE_ARRAY)
            .set_column_dictionary_enabled(ColumnPath::from("task"), false)
            .build();
        written(&path, options, "time")?;
        let card = crate::support::binary::scorecard(&[&path])?;
        assert_eq!(card["unread"].as_array().map(Vec::len), Some(0), "{name}");
    }
    Ok(())
}
