//! Which episodes are kept, what is refused, and what is printed.

use serde_json::Value;
use teleassay::demo::{Layout, Recipe};

use super::{Session, files};
use crate::support::binary::{Tested, run, said};

fn ids(document: &Value, key: &str) -> Vec<String> {
    let all = document[key].as_array().into_iter().flatten();
    all.filter_map(|one| one["episode"].as_str().map(str::to_owned)).collect()
}

fn nursery() -> Result<Session, Box<dyn std::error::Error>> {
    Session::new(&Recipe::nursery().of_episodes(24), Layout::List)
}

#[test]
fn episodes_are_chosen_by_verdict_list_check_task_and_condition() -> Tested {
    let session = nursery()?;
    let report = session.audit(&session.source())?;
    let all = || report["episodes"].as_array().into_iter().flatten();
    let of = |wanted: &dyn Fn(&Value) -> bool| -> Vec<String> {
        let wanted = all().filter(|one| wanted(one));
        wanted.filter_map(|one| one["episode"].as_str().map(str::to_owned)).collect()
    };
    let list = session.path("list.txt");
    std::fs::write(&list, "3\n15\n")?;
    let list = list.display().to_string();
    let task = report["episodes"][5]["task"].as_str().ok_or("a task")?.to_owned();
    let lag = |one: &Value| {
        let readings = one["readings"].as_array().into_iter().flatten();
        let of_elbow = readings.filter(|r| r["metric"] == "lag" && r["joint"] == "elbow");
        of_elbow.into_iter().find_map(|r| r["value"].as_f64())
    };
    let warns = |one: &Value, check: &str| {
        one["findings"].as_array().into_iter().flatten().any(|f| f["check"] == check)
    };
    let fails = |one: &Value| one["verdict"] == "fail";
    let long = |one: &Value| one["duration_s"].as_f64().is_some_and(|s| s >= 15.0);
    for (n, (options, wanted)) in [
        (vec![], of(&|one| !fails(one))),
        (vec!["--keep-from", "ok"], of(&|one| one["verdict"] == "pass")),
        (vec!["--keep-from", "fail"], of(&|_| true)),
        (vec!["--episodes", &list], of(&|one| one["episode"] == "3" || one["episode"] == "15")),
        (vec!["--episodes", "3,15", "--keep-from", "warn"], of(&|one| one["episode"] == "3")),
        (vec!["--leave-out", &list], of(&|one| !fails(one) && one["episode"] != "3")),
        (
            vec!["--without", "outlier-episode"],
            of(&|one| !fails(one) && !warns(one, "outlier-episode")),
        ),
        (vec!["--task", &task], of(&|one| !fails(one) && one["task"] == task.as_str())),
        (vec!["--where", "duration_s >= 15 s"], of(&|one| !fails(one) && long(one))),
        (
            vec!["--where", "tracking-lag/lag/elbow < 107 ms", "--keep-from", "fail"],
            of(&|one| lag(one).is_some_and(|lag| lag < 0.107)),
        ),
        (
            vec!["--where", "not (tracking-lag/lag/elbow < 107 ms)", "--keep-from", "fail"],
            of(&|one| lag(one).is_some_and(|lag| lag >= 0.107)),
        ),
        (
            vec!["--where", "verdict == fail or file contains part-2", "--keep-from", "fail"],
            of(&|one| {
                fails(one) || one["source"]["path"].as_str().is_some_and(|p| p.contains("part-2"))
            }),
        ),
    ]
    .into_iter()
    .enumerate()
    {
        let document = session.keep(&format!("copy-{n}"), &options)?;
        assert_eq!(ids(&document, "kept"), wanted, "{options:?}");
        let out = ids(&document, "left_out");
        assert!(out.iter().all(|id| !wanted.contains(id)) && out.len() + wanted.len() == 24);
        let why = document["left_out"].as_array().into_iter().flatten();
        assert!(why.into_iter().all(|one| one["why"].as_array().is_some_and(|w| !w.is_empty())));
        let frames: u64 = all()
            .filter(|one| wanted.iter().any(|id| one["episode"] == id.as_str()))
            .filter_map(|one| one["frames"].as_u64())
            .sum();
        assert_eq!(document["frames"]["kept"], frames, "{options:?}");
    }
    Ok(())
}

#[test]
fn what_cannot_be_done_is_refused_with_a_way_out() -> Tested {
    let session = nursery()?;
    let before = files(&session.source())?;
    let (source, inside) = (session.source(), session.source().join("clean"));
    let (inside, root) = (inside.display().to_string(), session.root.path().display().to_string());
    let copy = session.path("copy").display().to_string();
    std::fs::write(session.path("text"), "x")?;
    let file = session.path("text").display().to_string();
    for (to, options, code, wanted) in [
        (&inside, vec![], 2, "lies in the source"),
        (&root, vec![], 2, "is not empty"),
        (&file, vec![], 2, "is a file"),
        (&copy, vec!["--episodes", "99"], 2, "no episode or file \"99\""),
        (&copy, vec!["--where", "duration > 3"], 2, "did you mean duration_s"),
        (&copy, vec!["--where", "duration_s > "], 2, "ends where a value"),
        (&copy, vec!["--without", "lagg"], 2, "there is no check"),
        (&copy, vec!["--task", "sing"], 2, "no episode shows \"sing\""),
        (&copy, vec!["--trim", "0:3"], 2, "is no span"),
        (&copy, vec!["--trim", "0:3-4"], 2, "add --split"),
        (&copy, vec!["--trim", "99:3-"], 2, "no episode or file \"99\""),
        (&copy, vec!["--mend", "unwrapp:waist"], 2, "did you mean unwrap"),
        (&copy, vec!["--mend", "unwrap:wast"], 2, "did you mean \"waist\""),
        (&copy, vec!["--mend", "offset:state/elbow:3"], 2, "deg or rad"),
        (&copy, vec!["--where", "duration_s > 1000"], 3, "no episode is left"),
        (&copy, vec!["--episodes", "3", "--leave-out", "3"], 3, "no episode is left"),
    ] {
        let mut args = vec!["keep", "--to", to];
        let source = source.display().to_string();
        args.push(&source);
        args.extend(options.iter().copied());
        let output = run(&args)?;
        assert_eq!(output.status.code(), Some(code), "{options:?}: {}", said(&output));
        let text = said(&output);
        assert!(text.contains(wanted) && text.contains("hint: "), "{options:?}: {text}");
        assert!(!session.path("copy").exists(), "{options:?}");
    }
    assert_eq!(files(&session.source())?, before);
    Ok(())
}

#[test]
fn a_dry_run_says_the_same_and_writes_nothing() -> Tested {
    let session = nursery()?;
    let options = &["--trim-idle", "--split", "--drop-doubled"];
    let source = session.source().display().to_string();
    let copy = session.path("copy").display().to_string();
    let mut args = vec!["keep", &source, "--to", &copy, "--dry-run", "--format", "json"];
    args.extend(options);
    let output = run(&args)?;
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    assert!(!session.path("copy").exists());
    let mut dry: Value = serde_json::from_slice(&output.stdout)?;
    assert_eq!(dry["dry_run"], true);
    dry["dry_run"] = false.into();
    assert_eq!(dry, session.keep("copy", options)?);
    let schema: Value =
        serde_json::from_slice(&run(&["explain", "--json-schema", "changes"])?.stdout)?;
    assert_eq!(crate::cli::schema::faults(&schema, &dry)?, Vec::<String>::new());
    Ok(())
}

#[test]
fn parts_and_numbers_are_new_only_where_that_is_asked_for() -> Tested {
    for layout in [Layout::List, Layout::FilePerEpisode, Layout::IpcFile] {
        let session = Session::new(&Recipe::nursery().of_episodes(12), layout)?;
        let split = session.keep("split", &["--split", "--keep-from", "fail"])?;
        let parts = split["kept"][8]["written"].as_array().ok_or("parts")?;
        let names: Vec<&str> = parts.iter().filter_map(|part| part["episode"].as_str()).collect();
        assert_eq!(names.len(), 2, "{layout:?}: {parts:?}");
        let report = session.audit(&session.path("split"))?;
        let read = ids(&report, "episodes");
        assert_eq!(read.len(), 13, "{layout:?}");
        assert!(
            names.iter().all(|name| read.iter().any(|id| id == name)),
            "{layout:?}: {names:?} {read:?}"
        );
        if layout == Layout::FilePerEpisode {
            continue;
        }
        session.keep("numbered", &["--renumber", "--leave-out", "0,3", "--keep-from", "fail"])?;
        let read = ids(&session.audit(&session.path("numbered"))?, "episodes");
        assert_eq!(read, (0..10).map(|n| n.to_string()).collect::<Vec<_>>(), "{layout:?}");
    }
    Ok(())
}

#[test]
fn files_next_to_the_tables_are_listed_with_what_they_belong_to() -> Tested {
    let session = nursery()?;
    let videos = session.source().join("videos");
    std::fs::create_dir(&videos)?;
    for episode in [2, 3] {
        std::fs::write(videos.join(format!("episode_{episode:06}.mp4")), "image")?;
    }
    let document = session.keep("copy", &[])?;
    let alone = document["left_alone"].as_array().ok_or("a list")?;
    let of = |name: &str| {
        alone.iter().find(|one| one["path"].as_str().is_some_and(|p| p.ends_with(name)))
    };
    let (out, kept) = (of("000002.mp4").ok_or("2")?, of("000003.mp4").ok_or("3")?);
    assert_eq!((&out["episode"], &out["left_out"]), (&"2".into(), &true.into()));
    assert_eq!((&kept["episode"], &kept["left_out"]), (&"3".into(), &false.into()));
    assert!(of("teleassay.toml").is_some_and(|one| one["episode"].is_null()));
    assert!(!session.path("copy/videos").exists());
    Ok(())
}

/// A damaged file is left out and named, and the exit code says so.
#[test]
fn what_cannot_be_read_is_left_out_and_named() -> Tested {
    let session = nursery()?;
    let table = session.source().join("part-1.parquet");
    let bytes = std::fs::read(&table)?;
    std::fs::write(&table, &bytes[..bytes.len() / 2])?;
    let (source, copy) = (session.source(), session.path("copy"));
    let args = ["keep".as_ref(), source.as_os_str(), "--to".as_ref(), copy.as_os_str()];
    let output = run(&args)?;
    assert_eq!(output.status.code(), Some(1), "{}", said(&output));
    let screen = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(screen.contains("not read: ") && screen.contains("part-1.parquet"), "{screen}");
    assert!(!copy.join("part-1.parquet").exists() && copy.join("part-2.parquet").exists());
    Ok(())
}
