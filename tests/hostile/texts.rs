//! Texts, arrays and logs that state what they do not hold, and stamps that cannot be.

use std::error::Error;
use std::io::Write as _;
use std::path::Path;

use super::run::{refused, watched};
use crate::support::binary::{Tested, run, said};

/// The header of a Zstandard frame that states its size in eight bytes: RFC 8878, section 3.1.1.1.
fn frame(stated: u64) -> Vec<u8> {
    let mut bytes = vec![0x28, 0xb5, 0x2f, 0xfd, 0xe0];
    bytes.extend(stated.to_le_bytes());
    bytes.extend([0x13; 40]);
    bytes
}

#[test]
fn frames_that_state_a_terabyte_and_more_are_refused() -> Tested {
    let dir = tempfile::tempdir()?;
    let path = dir.path().join("frame.csv.zst");
    for stated in [1_u64 << 40, 1 << 62] {
        std::fs::write(&path, frame(stated))?;
        refused(&path, "cannot be unpacked")?;
    }
    Ok(())
}

/// A gigabyte of zeros in a megabyte.
#[test]
fn text_that_unpacks_without_end_is_refused() -> Tested {
    let dir = tempfile::tempdir()?;
    let path = dir.path().join("zeros.csv.gz");
    let file = std::fs::File::create(&path)?;
    let mut packed = flate2::write::GzEncoder::new(file, flate2::Compression::fast());
    let zeros = vec![b'0'; 1 << 20];
    for _ in 0..600 {
        packed.write_all(&zeros)?;
    }
    packed.finish()?;
    let ran = watched(&["audit".as_ref(), path.as_os_str()])?;
    assert_eq!(ran.output.status.code(), Some(2), "{}", said(&ran.output));
    assert!(said(&ran.output).contains("unpacks to more than"), "{}", said(&ran.output));
    assert!(ran.memory < 700 << 20, "{}", ran.memory);
    Ok(())
}

/// Each row with a name of its own: rows by rows of cells.
#[test]
fn names_without_end_are_no_table() -> Tested {
    let dir = tempfile::tempdir()?;
    let path = dir.path().join("names.jsonl");
    let mut text = Vec::new();
    for row in 0..60_000 {
        writeln!(text, "{{\"a{row}\":{row}}}")?;
    }
    std::fs::write(&path, text)?;
    refused(&path, "are no table")
}

fn npy(header: &[u8], stated: u32) -> Vec<u8> {
    let mut bytes = b"\x93NUMPY\x02\x00".to_vec();
    bytes.extend(stated.to_le_bytes());
    bytes.extend(header);
    bytes
}

#[test]
fn headers_of_arrays_are_not_believed() -> Tested {
    let dir = tempfile::tempdir()?;
    let path = dir.path().join("array.npy");
    std::fs::write(&path, npy(b"{'descr'", u32::MAX))?;
    refused(&path, "states a length of 4294967307 bytes")?;
    let deep = format!("{{'descr': {}", "[".repeat(100_000));
    std::fs::write(&path, npy(deep.as_bytes(), deep.len() as u32))?;
    refused(&path, "nested more than 32 deep")?;
    let huge = "{'descr': [('time', '<f8')], 'fortran_order': False, 'shape': (500000000,)}\n";
    std::fs::write(&path, npy(huge.as_bytes(), huge.len() as u32))?;
    refused(&path, "of 4000000000 bytes")
}

/// A message log: records by hand. MCAP format specification, version 0.
#[test]
fn records_of_a_log_are_not_believed() -> Tested {
    let dir = tempfile::tempdir()?;
    let path = dir.path().join("log.mcap");
    let magic = b"\x89MCAP0\r\n";
    let record = |opcode: u8, stated: u64, body: &[u8]| {
        [magic.as_slice(), &[opcode], &stated.to_le_bytes(), body].concat()
    };
    let texts = [7, 0, 0xff, 0xff, 0xff, 0x7e, b'a'];
    for (what, bytes) in [
        ("a record", record(3, 1 << 40, b"abc")),
        ("a text", record(3, texts.len() as u64, &texts)),
        ("a channel", record(4, 9, &[1, 0, 0, 0, 0xff, 0xff, 0xff, 0x7e, b'a'])),
    ] {
        std::fs::write(&path, bytes)?;
        let ran = watched(&["audit".as_ref(), path.as_os_str()])?;
        assert_eq!(ran.output.status.code(), Some(2), "{what}: {}", said(&ran.output));
        assert!(ran.memory < 300 << 20, "{what}: {}", ran.memory);
    }
    Ok(())
}

/// Rows of a joint and its leader, with these stamps.
fn csv(path: &Path, stamps: &[f64]) -> Result<(), Box<dyn Error>> {
    let mut text = b"time,follower_waist,leader_waist\n".to_vec();
    for (row, stamp) in stamps.iter().enumerate() {
        let angle = (row as f64 * 0.05).sin();
        writeln!(text, "{stamp},{angle:.4},{:.4}", angle + 0.01 * (row % 7) as f64)?;
    }
    Ok(std::fs::write(path, text)?)
}

/// The grid over the stamps of a recording took the memory of all its missing frames.
#[test]
fn one_stamp_of_another_century_takes_no_memory() -> Tested {
    let dir = tempfile::tempdir()?;
    let path = dir.path().join("episode.csv");
    for odd in [4.1e9, 1e15, -1e12, 1e300] {
        let mut stamps: Vec<f64> =
            (0..400).map(|row| f64::from(row) / 30.0 + 0.004 * f64::from(row % 3)).collect();
        stamps[399] = odd;
        csv(&path, &stamps)?;
        let args = ["audit".as_ref(), path.as_os_str(), "--fail-on=never".as_ref()];
        let ran = watched(&args)?;
        assert_eq!(ran.output.status.code(), Some(0), "{odd}: {}", said(&ran.output));
        assert!(ran.memory < 300 << 20, "{odd}: {}", ran.memory);
    }
    Ok(())
}

/// An episode that does not fit is named, with the option that allows more.
#[test]
fn the_memory_of_a_file_can_be_bounded() -> Tested {
    let dir = tempfile::tempdir()?;
    let path = dir.path().join("episode.csv");
    let stamps: Vec<f64> = (0..900_000).map(|row| f64::from(row) / 1000.0).collect();
    csv(&path, &stamps)?;
    let few = run(&["audit".as_ref(), path.as_os_str(), "--max-memory=16MB".as_ref()])?;
    let text = said(&few);
    assert_eq!(few.status.code(), Some(2), "{text}");
    assert!(text.contains("episode.csv") && text.contains("MiB"), "{text}");
    let wrong = run(&["audit".as_ref(), path.as_os_str(), "--max-memory=16".as_ref()])?;
    assert!(said(&wrong).contains("must have a unit"), "{}", said(&wrong));
    Ok(())
}
