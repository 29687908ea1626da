//! Measurements files, and `judge` on them, through the binary on the demo session.

use std::error::Error;
use std::fs::{self, File};
use std::process::Output;

use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use serde_json::Value;
use tempfile::TempDir;

use crate::support::binary::{Tested, run, said};
use crate::support::card::list;

/// A folder with a demo session `s`, without the profile that says all of its rig.
fn session(options: &[&str]) -> Result<TempDir, Box<dyn Error>> {
    let dir = tempfile::tempdir()?;
    let place = at(&dir, "s");
    let output = run(&[&["demo", place.as_str()], options].concat())?;
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    fs::remove_file(dir.path().join("s/teleassay.toml"))?;
    Ok(dir)
}

fn at(dir: &TempDir, name: &str) -> String {
    dir.path().join(name).to_string_lossy().into_owned()
}

/// A command, and where it prints JSON, that all of it is printed.
fn whole<'a>(args: &[&'a str]) -> Vec<&'a str> {
    let json = args.iter().any(|arg| arg.starts_with("json"));
    [args, if json { &["--json-detail", "full"] } else { &[] }].concat()
}

/// Runs a command that must judge something: exit 0 or 1.
fn ran(args: &[&str]) -> Result<Output, Box<dyn Error>> {
    let output = run(&whole(args))?;
    let code = output.status.code();
    if matches!(code, Some(0 | 1)) {
        return Ok(output);
    }
    Err(format!("exit {code:?} of {args:?}: {}", said(&output)).into())
}

fn printed(args: &[&str]) -> Result<String, Box<dyn Error>> {
    Ok(String::from_utf8(ran(args)?.stdout)?)
}

/// Runs a command that must be refused, and gives what it said.
fn refused(args: &[&str]) -> Result<String, Box<dyn Error>> {
    let output = run(args)?;
    assert_eq!(output.status.code(), Some(2), "{args:?}: {}", said(&output));
    let text = said(&output);
    assert!(text.contains("error: ") && text.contains("hint: "), "{args:?}: {text}");
    Ok(text)
}

/// What is printed without the command of a clean copy.
fn without_copy(text: &str) -> String {
    let kept = text.split_inclusive('\n').filter(|line| !line.contains("clean copy: "));
    kept.collect()
}

#[test]
fn judging_gives_the_audit_again_in_every_format_and_without_the_data() -> Tested {
    let dir = session(&["--episodes", "30"])?;
    let (data, card) = (at(&dir, "s"), at(&dir, "w.parquet"));
    let outputs: &[&[&str]] = &[
        &["--format", "json"],
        &["--format=json"],
        &["--format", "jsonl"],
        &["--format", "markdown"],
        &["--plain"],
        &["--episode", "2", "--format", "json"],
        &["--only", "dropped-frames,outlier-episode", "--format", "json"],
    ];
    let mut audited = Vec::new();
    for (number, output) in outputs.iter().enumerate() {
        let mut args = vec!["audit", &data];
        args.extend(*output);
        // Written only once; what is printed is the same with and without.
        if number == 0 {
            args.extend(["--out-measurements", &card]);
        }
        audited.push(printed(&args)?);
    }
    let (table, csv, keep) = (at(&dir, "t.txt"), at(&dir, "a.csv"), at(&dir, "a.txt"));
    fs::write(
        &table,
        printed(&["audit", &data, "--out-measurements", &csv, "--out-keep-list", &keep])?,
    )?;
    fs::rename(&data, at(&dir, "gone"))?;
    for (output, audited) in outputs.iter().zip(audited) {
        let mut args = vec!["judge", &card];
        args.extend(*output);
        assert_eq!(printed(&args)?, without_copy(&audited), "{output:?}");
    }
    let (again, kept) = (at(&dir, "j.csv"), at(&dir, "j.txt"));
    let text = printed(&["judge", &card, "--out-measurements", &again, "--out-keep-list", &kept])?;
    let audited = fs::read_to_string(&table)?.replace(&format!("audit {data}"), "judge CARD");
    // The last line differs: a trace needs the data, as a clean copy does.
    let (judged, next) = text.trim_end().rsplit_once('\n').ok_or("one line")?;
    assert!(next.contains("teleassay judge"), "{next}");
    let audited = without_copy(&audited);
    let audited = audited.trim_end().rsplit_once('\n').ok_or("one line")?.0;
    assert_eq!(judged.replace(&format!("judge {card}"), "judge CARD"), audited);
    assert_eq!(fs::read(&csv)?, fs::read(&again)?);
    assert_eq!(fs::read(&keep)?, fs::read(&kept)?);
    assert_eq!(ran(&["judge", &card])?.status.code(), Some(1));
    assert_eq!(ran(&["judge", &card, "--fail-on", "never"])?.status.code(), Some(0));
    Ok(())
}

#[test]
fn another_profile_judges_as_an_audit_under_it_would() -> Tested {
    let dir = session(&["--episodes", "24"])?;
    let (data, card, profile) = (at(&dir, "s"), at(&dir, "w.parquet"), at(&dir, "p.toml"));
    let before = printed(&["audit", &data, "--out-measurements", &card, "--format", "json"])?;
    fs::write(
        &profile,
        "[checks]\nskip = [\"non-monotonic-time\"]\n\
         [limits.tracking-lag]\nlag = { warn = 0.02, fail = 0.06 }\n\
         [limits.dropped-frames]\ndropped_share = { warn = 0.5, fail = inf }\n\
         [limits.outlier-episode]\noutlier_distance = { warn = 0.5 }\n\
         [params.outlier-episode]\ncomponents = 3\n",
    )?;
    let audited = printed(&["audit", &data, "--profile", &profile, "--format", "json"])?;
    let judged = printed(&["judge", &card, "--profile", &profile, "--format", "json"])?;
    assert_eq!(judged, audited);
    assert_ne!(judged, before);
    Ok(())
}

#[test]
fn eight_parts_judged_together_are_the_whole() -> Tested {
    for layout in ["list", "file-per-episode", "ipc-file"] {
        let dir = session(&["--episodes", "64", "--layout", layout])?;
        let (data, whole) = (at(&dir, "s"), at(&dir, "whole.parquet"));
        let audited = printed(&["audit", &data, "--out-measurements", &whole, "--format", "json"])?;
        let mut files: Vec<_> =
            fs::read_dir(&data)?.map(|e| Ok(e?.path())).collect::<std::io::Result<_>>()?;
        files.retain(|file| file.extension().is_some_and(|e| e == "parquet" || e == "arrow"));
        // In the order of the dataset, which counts up: part-2 before part-10.
        files.sort_by_key(|file| {
            let name = file.file_stem().map(|s| s.to_string_lossy().into_owned());
            name.and_then(|n| n.rsplit(['-', '_']).next().and_then(|n| n.parse::<u32>().ok()))
        });
        assert_eq!(files.len() % 8, 0, "{layout}: {files:?}");
        let mut parts = Vec::new();
        for (number, files) in files.chunks(files.len() / 8).enumerate() {
            let part = at(&dir, &format!("part{number}.parquet"));
            let mut args: Vec<String> = vec!["audit".into()];
            args.extend(files.iter().map(|file| file.to_string_lossy().into_owned()));
            args.extend(["--rig", &whole, "--out-measurements", &part].map(str::to_owned));
            ran(&args.iter().map(String::as_str).collect::<Vec<_>>())?;
            parts.push(part);
        }
        let mut args = vec!["judge"];
        args.extend(parts.iter().map(String::as_str));
        args.extend(["--format", "json"]);
        assert_eq!(printed(&args)?, audited, "{layout}");
    }
    Ok(())
}

#[test]
fn parts_surveyed_each_for_itself_say_so_and_are_judged() -> Tested {
    let dir = session(&["--episodes", "16"])?;
    let data = at(&dir, "s");
    let whole: Value = serde_json::from_str(&printed(&["audit", &data, "--format", "json"])?)?;
    let parts = ["0", "1"].map(|n| at(&dir, &format!("p{n}.parquet")));
    for (number, part) in parts.iter().enumerate() {
        ran(&["audit", &format!("{data}/part-{number}.parquet"), "--out-measurements", part])?;
    }
    let text = printed(&["judge", &parts[0], &parts[1], "--format", "json"])?;
    let judged: Value = serde_json::from_str(&text)?;
    let notices = judged["rig"]["notices"].to_string();
    assert!(notices.contains("surveyed each for itself") && notices.contains("--rig"), "{notices}");
    assert_eq!(judged["session"]["counts"], whole["session"]["counts"]);
    assert_eq!(list(&judged, "episodes").len(), 16);
    Ok(())
}

#[test]
fn the_same_ids_in_two_folders_are_kept_apart_as_in_one_audit() -> Tested {
    let dir = session(&["--episodes", "10"])?;
    fs::create_dir(dir.path().join("d"))?;
    fs::rename(at(&dir, "s"), at(&dir, "d/monday"))?;
    let tuesday = at(&dir, "d/tuesday");
    ran(&["demo", &tuesday, "--episodes", "10", "--seed", "2"])?;
    fs::remove_file(dir.path().join("d/tuesday/teleassay.toml"))?;
    let whole = at(&dir, "whole.parquet");
    let days = ["monday", "tuesday"].map(|day| (at(&dir, &format!("d/{day}")), at(&dir, day)));
    let both = ["audit", &days[0].0, &days[1].0];
    let written = ["--out-measurements", &whole, "--format", "json"];
    let audited = printed(&[&both[..], &written].concat())?;
    let named = |id: &str| audited.contains(&format!("\"episode\": \"{id}\""));
    assert!(named("0") && named("tuesday/9") && !named("monday/0"));
    let mut cards = Vec::new();
    for (data, card) in &days {
        let card = format!("{card}.parquet");
        ran(&["audit", data, "--rig", &whole, "--out-measurements", &card])?;
        cards.push(card);
    }
    assert_eq!(printed(&["judge", &cards[0], &cards[1], "--format", "json"])?, audited);
    let said = refused(&["judge", &cards[0], &cards[1], &cards[0]])?;
    assert!(said.contains("name each measurements file once"), "{said}");
    Ok(())
}

#[test]
fn what_was_not_measured_is_left_out_and_said() -> Tested {
    let dir = session(&["--episodes", "8"])?;
    let (data, card) = (at(&dir, "s"), at(&dir, "w.parquet"));
    ran(&["audit", &data, "--skip", "tracking-lag,dropped-frames", "--out-measurements", &card])?;
    let judged: Value = serde_json::from_str(&printed(&["judge", &card, "--format", "json"])?)?;
    for check in ["tracking-lag", "dropped-frames"] {
        let hole =
            list(&judged["session"], "not_assessed").iter().find(|hole| hole["check"] == check);
        let reason = hole.ok_or("not said")?["reason"].to_string();
        assert!(reason.contains("was not measured"), "{reason}");
    }
    let skipped = printed(&["audit", &data, "--skip", "tracking-lag,dropped-frames", "--plain"])?;
    let again = printed(&["judge", &card, "--skip", "tracking-lag,dropped-frames", "--plain"])?;
    assert_eq!(again, skipped);
    Ok(())
}

#[test]
fn the_file_is_a_table_of_every_reading_at_full_precision() -> Tested {
    let dir = session(&["--episodes", "6"])?;
    let (data, card) = (at(&dir, "s"), at(&dir, "w.parquet"));
    let text = printed(&["audit", &data, "--out-measurements", &card, "--format", "json"])?;
    let document: Value = serde_json::from_str(&text)?;
    let reader = ParquetRecordBatchReaderBuilder::try_new(File::open(&card)?)?.build()?;
    let (mut row, mut compared) = (0, 0);
    for batch in reader {
        let batch = batch?;
        for at in 0..batch.num_rows() {
            let readings = list(&list(&document, "episodes")[row], "readings");
            for reading in readings {
                let mut name = format!(
                    "{}/{}",
                    reading["check"].as_str().unwrap_or_default(),
                    reading["metric"].as_str().unwrap_or_default()
                );
                if let Some(joint) = reading["joint"].as_str() {
                    name = format!("{name}/{joint}");
                }
                // Found by a check across episodes: made again from the others whenever it is read.
                let check = reading["check"].as_str().unwrap_or_default();
                if teleassay::catalogue::find(check).is_some_and(|check| !check.reads_episodes()) {
                    continue;
                }
                let column = batch.column_by_name(&name).ok_or_else(|| name.clone())?;
                let values = column.as_any().downcast_ref::<arrow::array::Float64Array>();
                let value = values.ok_or_else(|| name.clone())?.value(at);
                assert_eq!(Some(value), reading["value"].as_f64(), "{name}");
                compared += 1;
            }
            row += 1;
        }
    }
    assert_eq!(row, 6);
    assert!(compared > 6 * 100, "only {compared} compared");
    let left = fs::read_dir(dir.path())?.filter_map(Result::ok);
    let mut left = left.map(|entry| entry.file_name().to_string_lossy().into_owned());
    assert!(!left.any(|name| name.contains(".part")), "an unfinished file is left");
    Ok(())
}

#[test]
fn what_is_no_scorecard_is_refused_with_the_way_out() -> Tested {
    let dir = session(&["--episodes", "8"])?;
    let (data, card) = (at(&dir, "s"), at(&dir, "w.parquet"));
    ran(&["audit", &data, "--out-measurements", &card])?;
    let bytes = fs::read(&card)?;
    let (recording, bad) = (format!("{data}/part-0.parquet"), at(&dir, "bad.parquet"));
    assert!(refused(&["judge", &recording])?.contains("not a measurements file"));
    assert!(refused(&["judge", &data])?.contains("is a folder"));
    assert!(refused(&["judge", &at(&dir, "none.parquet")])?.contains("none.parquet"));
    for keep in [0, 3, 100, bytes.len() / 2, bytes.len() - 1] {
        fs::write(&bad, &bytes[..keep])?;
        assert!(refused(&["judge", &bad])?.contains("bad.parquet"), "cut at {keep}");
        assert!(refused(&["audit", &data, "--baseline", &bad])?.contains("bad.parquet"));
    }
    // Damaged in the midst of the readings: refused, or so that nothing of it is read.
    let sound = printed(&["judge", &card, "--format", "json"])?;
    for place in (1..20).map(|n| n * bytes.len() / 20) {
        let mut spoilt = bytes.clone();
        spoilt[place..(place + 40).min(bytes.len())].iter_mut().for_each(|b| *b = !*b);
        fs::write(&bad, &spoilt)?;
        let output = run(&whole(&["judge", &bad, "--format", "json"]))?;
        let text = said(&output);
        // Nothing of the end of the file is needed but what its own length says.
        let same = output.stdout == sound.as_bytes();
        let code = output.status.code();
        assert!(
            same || code == Some(2) && text.contains("bad.parquet"),
            "{place}: {code:?} {text}"
        );
    }
    Ok(())
}

#[test]
fn a_later_format_and_two_rigs_are_refused() -> Tested {
    let dir = session(&["--episodes", "8"])?;
    let (data, card) = (at(&dir, "s"), at(&dir, "w.parquet"));
    ran(&["audit", &data, "--out-measurements", &card])?;
    let later = at(&dir, "later.parquet");
    let reader = ParquetRecordBatchReaderBuilder::try_new(File::open(&card)?)?.build()?;
    let mut writer = parquet::arrow::ArrowWriter::try_new(
        File::create(&later)?,
        arrow::record_batch::RecordBatchReader::schema(&reader),
        None,
    )?;
    writer.append_key_value_metadata(parquet::file::metadata::KeyValue::new(
        teleassay::store::KEY.to_owned(),
        "{\"format\": 99, \"tool\": \"9.1.0\", \"new\": true}".to_owned(),
    ));
    writer.close()?;
    let text = refused(&["judge", &later])?;
    assert!(text.contains("format 99") && text.contains("9.1.0"), "{text}");

    let other = at(&dir, "other.parquet");
    ran(&["audit", &data, "--rate", "30", "--out-measurements", &other])?;
    let text = refused(&["judge", &card, &other])?;
    assert!(text.contains("w.parquet") && text.contains("other.parquet"), "{text}");
    assert!(text.contains("declared rate none and 30"), "{text}");
    fs::write(at(&dir, "p.toml"), "[params.tracking-lag]\nsearch_s = 0.7\n")?;
    ran(&["audit", &data, "--profile", &at(&dir, "p.toml"), "--out-measurements", &other])?;
    assert!(refused(&["judge", &card, &other])?.contains("tracking-lag search_s"));
    let text = printed(&["judge", &other, "--format", "json"])?;
    assert!(text.contains("measured with tracking-lag search_s = 0.7, not"), "{text}");
    Ok(())
}

#[test]
fn no_scorecard_is_written_over_and_none_is_made_by_judging() -> Tested {
    let dir = session(&["--episodes", "8"])?;
    let (data, card) = (at(&dir, "s"), at(&dir, "w.parquet"));
    ran(&["audit", &data, "--out-measurements", &card])?;
    let before = fs::read(&card)?;
    assert!(refused(&["judge", &card, "--out-json", &card])?.contains("never written over"));
    let as_baseline = ["audit", &data, "--baseline", &card, "--out-measurements", &card];
    assert!(refused(&as_baseline)?.contains("never written over"));
    let as_rig = ["audit", &data, "--rig", &card, "--out-keep-list", &card];
    assert!(refused(&as_rig)?.contains("never written over"));
    let recording = format!("{data}/part-0.parquet");
    assert!(refused(&["judge", &card, "--out-json", &recording])?.contains("recordings"));
    assert!(
        refused(&["judge", &card, "--out-measurements", &at(&dir, "x.parquet")])?.contains("judg")
    );
    let near = refused(&["judge", &card, "--only", "droped-frame"])?;
    assert!(near.contains("did you mean \"dropped-frames\""), "{near}");
    assert_eq!(fs::read(&card)?, before);
    // An existing file that is not read is replaced, and only by a whole one.
    ran(&["audit", &data, "--out-measurements", &card])?;
    assert_eq!(fs::read(&card)?, before, "the same data, the same bytes");
    Ok(())
}

#[test]
fn the_file_is_the_same_at_any_number_of_threads() -> Tested {
    let dir = session(&["--episodes", "40"])?;
    let data = at(&dir, "s");
    let cards = ["1", "3"].map(|threads| (threads, at(&dir, &format!("{threads}.parquet"))));
    for (threads, card) in &cards {
        ran(&["audit", &data, "--threads", threads, "--out-measurements", card])?;
    }
    assert_eq!(fs::read(&cards[0].1)?, fs::read(&cards[1].1)?);
    Ok(())
}

#[test]
fn help_begins_with_examples() -> Tested {
    for command in ["audit", "judge"] {
        let output = run(&[command, "--help"])?;
        let text = String::from_utf8(output.stdout)?;
        assert!(text.starts_with(&format!("Examples:\n  teleassay {command} ")), "{text}");
    }
    Ok(())
}

#[test]
fn a_rig_that_the_data_is_not_of_is_refused() -> Tested {
    let dir = session(&["--episodes", "6", "--layout", "scalars"])?;
    let other = session(&["--episodes", "6", "--layout", "scalars"])?;
    let (card, named) = (at(&dir, "w.parquet"), at(&dir, "p.toml"));
    ran(&["columns", &at(&dir, "s"), "--write", &named])?;
    let text = fs::read_to_string(&named)?.replace("\"elbow\"", "\"ellbow\"");
    fs::write(&named, text)?;
    ran(&["audit", &at(&dir, "s"), "--profile", &named, "--out-measurements", &card])?;
    let text = refused(&["audit", &at(&other, "s"), "--rig", &card])?;
    assert!(text.contains("ellbow") && text.contains("same rig"), "{text}");
    Ok(())
}
