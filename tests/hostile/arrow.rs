//! Arrow IPC files and streams whose lengths are not theirs.

use std::path::Path;

use arrow::ipc::CompressionType;
use arrow::ipc::writer::{FileWriter, IpcWriteOptions, StreamWriter};

use super::run::refused;
use crate::support::binary::{Tested, run, scorecard};
use crate::support::tables::session;

fn written(
    path: &Path,
    stream: bool,
    packing: Option<CompressionType>,
) -> Result<Vec<u8>, Box<dyn std::error::Error>> {
    let batch = session(1)?;
    let options = IpcWriteOptions::default().try_with_compression(packing)?;
    let mut bytes = Vec::new();
    if stream {
        let schema = batch.schema();
        let mut writer = StreamWriter::try_new_with_options(&mut bytes, &schema, options)?;
        writer.write(&batch)?;
        writer.finish()?;
    } else {
        let schema = batch.schema();
        let mut writer = FileWriter::try_new_with_options(&mut bytes, &schema, options)?;
        writer.write(&batch)?;
        writer.finish()?;
    }
    std::fs::write(path, &bytes)?;
    Ok(bytes)
}

/// The rows of the session, as each compressed buffer of eight-byte values states them in front.
fn prefix() -> Result<[u8; 8], Box<dyn std::error::Error>> {
    Ok((session(1)?.num_rows() as u64 * 8).to_le_bytes())
}

/// One such length asked for 64 GB, and ended the process.
#[test]
fn a_buffer_that_states_a_terabyte_is_refused() -> Tested {
    let dir = tempfile::tempdir()?;
    for (name, stream) in [("file.arrow", false), ("stream.arrows", true)] {
        for packing in [CompressionType::ZSTD, CompressionType::LZ4_FRAME] {
            let path = dir.path().join(name);
            let sound = written(&path, stream, Some(packing))?;
            assert_eq!(scorecard(&[&path])?["unread"].as_array().map(Vec::len), Some(0));
            let old = prefix()?;
            let at = sound.windows(8).position(|bytes| bytes == old).ok_or("no such buffer")?;
            for stated in [1_u64 << 40, 1 << 62, 1 << 33, i64::MAX as u64] {
                let mut bytes = sound.clone();
                bytes[at..at + 8].copy_from_slice(&stated.to_le_bytes());
                std::fs::write(&path, bytes)?;
                refused(&path, &format!("unpack to {stated}"))?;
            }
        }
    }
    Ok(())
}

#[test]
fn a_footer_that_is_longer_than_the_file_is_refused() -> Tested {
    let dir = tempfile::tempdir()?;
    let path = dir.path().join("footer.arrow");
    let sound = written(&path, false, None)?;
    for stated in [i32::MAX, -1, 1 << 24] {
        let mut bytes = sound.clone();
        let at = bytes.len() - 10;
        bytes[at..at + 4].copy_from_slice(&stated.to_le_bytes());
        std::fs::write(&path, bytes)?;
        refused(&path, "footer is longer than the file")?;
    }
    Ok(())
}

/// A type that hardly any recording has is read by another process first; a sound file is none the worse.
#[test]
fn an_unusual_type_is_read_in_another_process() -> Tested {
    use arrow::array::{ArrayRef, MapBuilder, StringBuilder};
    let dir = tempfile::tempdir()?;
    let path = dir.path().join("map.arrow");
    let batch = session(1)?;
    let mut notes = MapBuilder::new(None, StringBuilder::new(), StringBuilder::new());
    for _ in 0..batch.num_rows() {
        notes.append(true)?;
    }
    let notes: ArrayRef = std::sync::Arc::new(notes.finish());
    let batch = crate::support::tables::with(&batch, "notes", &notes)?;
    let file = std::fs::File::create(&path)?;
    let mut writer = FileWriter::try_new(file, &batch.schema())?;
    writer.write(&batch)?;
    writer.finish()?;
    drop(writer);
    assert_eq!(scorecard(&[&path])?["unread"].as_array().map(Vec::len), Some(0));
    let read = run(&["--read-through".as_ref(), path.as_os_str()])?;
    assert_eq!((read.status.code(), read.stdout.len()), (Some(0), 0));
    let read = run(&["--read-through".as_ref(), dir.path().as_os_str()])?;
    assert_eq!(read.status.code(), Some(2));
    Ok(())
}
