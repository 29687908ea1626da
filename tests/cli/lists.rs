//! Lists for trainers, and ids that stay: through the binary on demo sessions.

use std::error::Error;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use serde_json::Value;
use tempfile::TempDir;

use crate::support::binary::{Tested, run, said};
use crate::support::card::list;

fn demo(place: &Path, more: &[&str]) -> Tested {
    let place = place.to_string_lossy().into_owned();
    let episodes = if more.contains(&"--episodes") { &[][..] } else { &["--episodes", "12"] };
    let output = run(&[&["demo", place.as_str()], episodes, more].concat())?;
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    Ok(())
}

/// A folder with two sessions, `monday` and `tuesday`, whose ids are the same.
fn week() -> Result<TempDir, Box<dyn Error>> {
    let dir = tempfile::tempdir()?;
    demo(&dir.path().join("monday"), &[])?;
    demo(&dir.path().join("tuesday"), &["--seed", "2"])?;
    for day in ["monday", "tuesday"] {
        fs::remove_file(dir.path().join(day).join("teleassay.toml"))?;
    }
    Ok(dir)
}

fn audit(dir: &Path, args: &[&str]) -> Result<Output, Box<dyn Error>> {
    let program = assert_cmd::cargo::cargo_bin!("teleassay");
    let output = Command::new(program).current_dir(dir).arg("audit").args(args).output()?;
    let code = output.status.code();
    assert!(matches!(code, Some(0 | 1)), "exit {code:?} of {args:?}: {}", said(&output));
    Ok(output)
}

fn lines(path: &Path) -> Result<Vec<String>, Box<dyn Error>> {
    Ok(fs::read_to_string(path)?.lines().map(str::to_owned).collect())
}

#[test]
fn every_episode_is_kept_or_dropped_and_the_border_moves() -> Tested {
    let dir = tempfile::tempdir()?;
    let dir = dir.path();
    demo(&dir.join("monday"), &["--episodes", "24"])?;
    let both = ["monday", "--out-keep-list", "keep.txt", "--out-drop-list", "drop.txt"];
    let verdicts = |from: &str| -> Result<[usize; 2], Box<dyn Error>> {
        let output = audit(dir, &[&both[..], &["--keep-from", from, "--format", "json"]].concat())?;
        let report: Value = serde_json::from_slice(&output.stdout)?;
        let (keep, drop) = (lines(&dir.join("keep.txt"))?, lines(&dir.join("drop.txt"))?);
        for episode in list(&report, "episodes") {
            let id = episode["episode"].as_str().unwrap_or_default().to_owned();
            let wanted =
                episode["verdict"] == "pass" || from == "warn" && episode["usable"] == true;
            assert_eq!((keep.contains(&id), drop.contains(&id)), (wanted, !wanted), "{id}");
        }
        assert_eq!(keep.len() + drop.len(), 24);
        Ok([keep.len(), drop.len()])
    };
    let (warn, ok) = (verdicts("warn")?, verdicts("ok")?);
    assert!(warn[0] > ok[0] && ok[0] > 0, "{warn:?} {ok:?}");
    Ok(())
}

#[test]
fn a_table_says_where_and_why() -> Tested {
    let dir = week()?;
    let dir = dir.path();
    audit(dir, &["monday", "--out-drop-list", "drop.json", "--out-keep-list", "keep.csv"])?;
    let dropped: Value = serde_json::from_str(&fs::read_to_string(dir.join("drop.json"))?)?;
    assert_eq!((&dropped["list"], &dropped["keep_from"]), (&"drop".into(), &"warn".into()));
    let episodes = list(&dropped, "episodes");
    assert!(!episodes.is_empty());
    for episode in episodes {
        let path = episode["source"]["path"].as_str().unwrap_or_default();
        assert!(path.starts_with("monday/part-"), "{path}");
        let rows = &episode["source"]["rows"];
        let (first, end) = (rows[0].as_u64(), rows[1].as_u64());
        // Rows of one episode follow one another in this file, so there are as many as frames.
        assert_eq!(end.zip(first).map(|(end, first)| end - first), episode["frames"].as_u64());
        assert!(!list(episode, "reasons").is_empty(), "{episode}");
    }
    let kept = lines(&dir.join("keep.csv"))?;
    assert_eq!(
        kept[0],
        "list,episode,path,first_row,end_row,task,frames,duration_s,verdict,reasons,trim"
    );
    assert_eq!(kept.len() - 1 + episodes.len(), 12);
    assert!(kept[1..].iter().all(|line| line.starts_with("keep,")));
    Ok(())
}

#[test]
fn ids_stay_when_folders_are_added() -> Tested {
    let dir = week()?;
    let dir = dir.path();
    demo(&dir.join("lab/monday"), &["--seed", "3"])?;
    fs::remove_file(dir.join("lab/monday/teleassay.toml"))?;
    let ids = |paths: &[&str]| -> Result<Vec<String>, Box<dyn Error>> {
        let output =
            audit(dir, &[paths, &["--format", "json", "--json-detail", "summary"]].concat())?;
        let report: Value = serde_json::from_slice(&output.stdout)?;
        let id = |e: &Value| e["episode"].as_str().unwrap_or_default().to_owned();
        Ok(list(&report, "episodes").iter().map(id).collect())
    };
    let one = ids(&["monday"])?;
    assert_eq!((one[0].as_str(), one[11].as_str()), ("0", "11"));
    let two = ids(&["monday", "tuesday"])?;
    assert_eq!((&two[..12], two[12].as_str()), (&one[..], "tuesday/0"));
    let three = ids(&["monday", "tuesday", "lab/monday"])?;
    assert_eq!((&three[..24], three[24].as_str()), (&two[..], "lab/monday/0"));
    // Of one folder that is named, its folders are named where they have an id in common.
    let whole = ids(&["."])?;
    assert_eq!((whole[0].as_str(), whole[12].as_str()), ("lab/monday/0", "monday/0"));
    // An id leads to its episode.
    audit(dir, &["monday", "tuesday", "--episode", "tuesday/3"])?;
    Ok(())
}

/// Writes a table again without its column of episodes.
#[cfg(unix)]
fn without_ids(from: &Path, to: &Path) -> Tested {
    let reader = ParquetRecordBatchReaderBuilder::try_new(fs::File::open(from)?)?.build()?;
    let mut writer = None;
    for batch in reader {
        let mut batch = batch?;
        let (ids, _) = batch.schema().column_with_name("episode").ok_or("no ids")?;
        batch.remove_column(ids);
        if writer.is_none() {
            writer = Some(ArrowWriter::try_new(fs::File::create(to)?, batch.schema(), None)?);
        }
        writer.as_mut().ok_or("no writer")?.write(&batch)?;
    }
    writer.ok_or("no rows")?.close()?;
    Ok(())
}

#[cfg(unix)]
#[test]
fn names_that_are_no_text_come_back() -> Tested {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt as _;
    let dir = tempfile::tempdir()?;
    let place = dir.path().join("s");
    demo(&place, &["--layout", "file-per-episode"])?;
    // One folder and one file in Latin-1, which is no UTF-8; a file is an episode.
    let folder = dir.path().join(OsStr::from_bytes(b"gr\xfcn"));
    fs::create_dir(&folder)?;
    let mut files: Vec<_> =
        fs::read_dir(&place)?.map(|e| Ok(e?.path())).collect::<std::io::Result<_>>()?;
    files.retain(|file| file.extension().is_some_and(|ending| ending == "parquet"));
    files.sort();
    let odd = OsStr::from_bytes(b"pot-\xe9\xe8");
    let mut wanted: Vec<Vec<u8>> = Vec::new();
    for (number, file) in files.iter().enumerate() {
        let name = if number == 0 { Some(odd) } else { file.file_stem() };
        let name = name.ok_or("no name")?;
        without_ids(file, &folder.join(name).with_extension("parquet"))?;
        wanted.push(name.as_bytes().to_vec());
    }
    wanted.sort();
    let program = assert_cmd::cargo::cargo_bin!("teleassay");
    let ran = |args: &[&OsStr]| Command::new(program).current_dir(dir.path()).args(args).output();
    let named = OsStr::from_bytes(b"gr\xfcn");
    let options =
        ["--keep-from", "warn", "--out-keep-list", "keep.txt", "--out-drop-list", "drop.txt"];
    let more =
        ["--out-json", "r.json", "--out-measurements", "m.parquet", "--out-findings", "f.csv"];
    let mut args = vec![OsStr::new("audit"), named];
    args.extend(options.iter().chain(&more).map(OsStr::new));
    let output = ran(&args)?;
    assert!(matches!(output.status.code(), Some(0 | 1)), "{}", said(&output));
    let listed = [fs::read(dir.path().join("keep.txt"))?, fs::read(dir.path().join("drop.txt"))?];
    let mut listed: Vec<&[u8]> =
        listed.iter().flat_map(|text| text.split(|b| *b == b'\n')).collect();
    listed.retain(|line| !line.is_empty());
    listed.sort_unstable();
    assert_eq!(listed, wanted);

    // As text it is escaped, leads to the episode, and survives the measurements file.
    let report: Value = serde_json::from_str(&fs::read_to_string(dir.path().join("r.json"))?)?;
    let odd = list(&report, "episodes").iter().find(|e| e["episode"] == "pot-\\xe9\\xe8");
    let odd = odd.ok_or("not found")?;
    assert_eq!(odd["source"]["path"], "gr\\xfcn/pot-\\xe9\\xe8.parquet");
    let one = ["audit", "--episode", "pot-\\xe9\\xe8", "--"].map(OsStr::new);
    let output = ran(&[&one[..], &[named]].concat())?;
    assert!(matches!(output.status.code(), Some(0 | 1)), "{}", said(&output));
    let again = ["judge", "m.parquet", "--out-keep-list", "again.txt", "--out-json", "j.json"];
    let output = ran(&again.map(OsStr::new))?;
    assert!(matches!(output.status.code(), Some(0 | 1)), "{}", said(&output));
    let same = |a: &str, b: &str| -> Result<bool, std::io::Error> {
        Ok(fs::read(dir.path().join(a))? == fs::read(dir.path().join(b))?)
    };
    assert!(same("keep.txt", "again.txt")? && same("r.json", "j.json")?);
    Ok(())
}
