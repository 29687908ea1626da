//! Damage at random, in every format: an error or a table, and nothing else. `scripts/mutate` does the
//! same with the binary, and by the thousand; `fuzz` goes by what the code has not done yet.

use std::error::Error;
use std::io::Write as _;
use std::path::Path;
use std::sync::OnceLock;

use arrow::ipc::CompressionType;
use arrow::ipc::writer::{FileWriter, IpcWriteOptions, StreamWriter};
use arrow::record_batch::RecordBatch;
use proptest::prelude::*;
use proptest::sample::Index;
use teleassay::check::Check;
use teleassay::profile::Profile;
use teleassay::source::probe::read_through;
use teleassay::store;

use crate::support::binary::run;
use crate::support::tables::{parquet, session};

/// One fault: what is done, where, and with which number.
type Fault = (u8, Index, u64);
/// Sound files, by their names.
type Files = Vec<(String, Vec<u8>)>;

/// Numbers at which counts, lengths and offsets go wrong.
const ODD: [u64; 9] =
    [0, 1, 0x7f, 0xff, 0xffff, 0x7fff_ffff, 0xffff_ffff, 1 << 40, 0x7fff_ffff_ffff_ffff];

fn damage(sound: &[u8], faults: &[Fault]) -> Vec<u8> {
    let mut bytes = sound.to_vec();
    for (way, place, number) in faults {
        if bytes.is_empty() {
            break;
        }
        // Every other fault lies in the last kilobyte, where what describes the rest often stands.
        let near = if way & 1 == 0 { bytes.len().min(1024) } else { bytes.len() };
        let at = bytes.len() - 1 - place.index(near);
        match way % 6 {
            0 => bytes[at] ^= 1 << (number % 8),
            1 => bytes[at] = *number as u8,
            2 | 3 => {
                let odd = ODD[*number as usize % ODD.len()].to_le_bytes();
                let width = [2, 4, 8][*number as usize / 16 % 3].min(bytes.len() - at);
                bytes[at..at + width].copy_from_slice(&odd[..width]);
            }
            4 => bytes.truncate(at),
            _ => drop(bytes.drain(at..(at + 1 + *number as usize % 16).min(bytes.len()))),
        }
    }
    bytes
}

fn faults() -> impl Strategy<Value = Vec<Fault>> {
    proptest::collection::vec(any::<Fault>(), 1..4)
}

/// Sound files, by their names.
fn sound() -> &'static [(String, Vec<u8>)] {
    static FILES: OnceLock<Files> = OnceLock::new();
    FILES.get_or_init(|| written().unwrap_or_default())
}

fn written() -> Result<Files, Box<dyn Error>> {
    let dir = tempfile::tempdir()?;
    let batch = session(1)?.slice(0, 60);
    let table = dir.path().join("t.parquet");
    parquet(&table, &batch)?;
    let mut files = vec![("t.parquet".to_owned(), std::fs::read(&table)?)];
    for packing in [None, Some(CompressionType::ZSTD), Some(CompressionType::LZ4_FRAME)] {
        let name = format!("{packing:?}.arrow").to_lowercase();
        files.push((name.clone(), ipc(&batch, packing, false)?));
        files.push((format!("{name}s"), ipc(&batch, packing, true)?));
    }
    let mut text = b"time,follower_waist,leader_waist\n".to_vec();
    let mut lines = Vec::new();
    for row in 0..60 {
        let (time, angle) = (f64::from(row) / 30.0, (f64::from(row) / 9.0).sin());
        writeln!(text, "{time},{angle},{angle}")?;
        writeln!(lines, "{{\"time\":{time},\"follower\":[{angle}],\"leader\":[{angle}]}}")?;
    }
    let mut packed = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::default());
    packed.write_all(&text)?;
    files.push(("t.csv.gz".to_owned(), packed.finish()?));
    files.push(("t.csv".to_owned(), text));
    files.push(("t.jsonl".to_owned(), lines));
    Ok(files)
}

fn ipc(
    batch: &RecordBatch,
    packing: Option<CompressionType>,
    stream: bool,
) -> Result<Vec<u8>, Box<dyn Error>> {
    let options = IpcWriteOptions::default().try_with_compression(packing)?;
    let mut bytes = Vec::new();
    if stream {
        let schema = batch.schema();
        let mut writer = StreamWriter::try_new_with_options(&mut bytes, &schema, options)?;
        writer.write(batch)?;
        writer.finish()?;
    } else {
        let schema = batch.schema();
        let mut writer = FileWriter::try_new_with_options(&mut bytes, &schema, options)?;
        writer.write(batch)?;
        writer.finish()?;
    }
    Ok(bytes)
}

fn measured() -> &'static [u8] {
    static FILE: OnceLock<Vec<u8>> = OnceLock::new();
    FILE.get_or_init(|| measure().unwrap_or_default())
}

fn measure() -> Result<Vec<u8>, Box<dyn Error>> {
    let dir = tempfile::tempdir()?;
    let (table, out) = (dir.path().join("t.parquet"), dir.path().join("m.parquet"));
    parquet(&table, &session(2)?)?;
    let option = format!("--out-measurements={}", out.display());
    run(&["audit".as_ref(), table.as_os_str(), "--quiet".as_ref(), option.as_ref()])?;
    Ok(std::fs::read(out)?)
}

/// Reads all that a measurements file says.
fn judged(path: &Path) {
    let Ok(stored) = store::read(&[path.to_owned()]) else { return };
    let checks: Vec<_> = teleassay::catalogue::of_episodes().map(Check::spec).collect();
    let want = store::Want { checks: &checks, motion: true };
    for block in 0..stored.blocks() {
        let _ = stored.read(block, &want, &mut |batch| {
            (0..batch.episodes()).try_for_each(|row| batch.episode(row, true).map(drop))
        });
    }
}

#[test]
fn what_is_damaged_here_is_sound_before() -> Result<(), Box<dyn Error>> {
    let dir = tempfile::tempdir()?;
    assert_eq!(sound().len(), 10);
    for (name, bytes) in sound() {
        let path = dir.path().join(name);
        std::fs::write(&path, bytes)?;
        assert_eq!(read_through(&path), Ok(()), "{name}");
    }
    assert!(measured().ends_with(b"PAR1"));
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn damaged_tables_are_read_or_refused_in_one_line(file in any::<Index>(), faults in faults()) {
        let (name, bytes) = &sound()[file.index(sound().len())];
        let dir = tempfile::tempdir()?;
        let path = dir.path().join(name);
        std::fs::write(&path, damage(bytes, &faults))?;
        if let Err(said) = read_through(&path) {
            prop_assert!(!said.is_empty() && said.chars().count() < 500, "{}", said);
            prop_assert!(!said.contains(char::is_control), "{:?}", said);
        }
    }

    #[test]
    fn damaged_measurements_are_read_or_refused(faults in faults()) {
        let dir = tempfile::tempdir()?;
        let path = dir.path().join("m.parquet");
        std::fs::write(&path, damage(measured(), &faults))?;
        judged(&path);
    }

    #[test]
    fn damaged_profiles_are_read_or_refused(faults in faults()) {
        let sound = b"[rig]\nrate_hz = 30.0\nunit = \"deg\"\n[[rig.joints]]\nname = \"waist\"\nlower = -1.0\n";
        let text = String::from_utf8_lossy(&damage(sound, &faults)).into_owned();
        let checks: Vec<_> =
            teleassay::catalogue::of_episodes().map(Check::spec).collect();
        let _ = Profile::parse(&text, "teleassay.toml", &checks);
    }
}
