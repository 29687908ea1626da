//! What the tool did not make is not replaced, unless an option asks for that.

use std::fs;
use std::path::Path;

use crate::support::binary::{Tested, run, said};

/// Runs a command that must be refused because of what is at its target.
fn refused(args: &[&str], of: &str) -> Tested {
    let output = run(args)?;
    assert_eq!(output.status.code(), Some(2), "{args:?}: {}", said(&output));
    assert!(said(&output).contains(of), "{args:?}: {}", said(&output));
    assert!(said(&output).contains("\nhint: "), "{args:?}: {}", said(&output));
    Ok(())
}

fn accepted(args: &[&str]) -> Tested {
    let output = run(args)?;
    assert_eq!(output.status.code(), Some(0), "{args:?}: {}", said(&output));
    Ok(())
}

fn names(dir: &Path) -> Result<Vec<String>, std::io::Error> {
    let mut names: Vec<String> = fs::read_dir(dir)?
        .map(|entry| Ok(entry?.file_name().to_string_lossy().into_owned()))
        .collect::<Result<_, std::io::Error>>()?;
    names.sort();
    Ok(names)
}

#[test]
fn demo_refuses_a_folder_that_holds_other_files() -> Tested {
    let dir = tempfile::tempdir()?;
    let place = dir.path().to_string_lossy().into_owned();
    let own = [("part-0.parquet", "a recording"), ("teleassay.toml", "# limits of our rig\n")];
    for (name, text) in own {
        fs::write(dir.path().join(name), text)?;
    }
    refused(&["demo", &place, "--episodes", "2"], "is not empty")?;
    refused(&["demo", &place, "--episodes", "2", "--audit"], "is not empty")?;
    for (name, text) in own {
        assert_eq!(fs::read_to_string(dir.path().join(name))?, text);
    }
    assert_eq!(names(dir.path())?, own.map(|(name, _)| name));
    Ok(())
}

#[test]
fn demo_replaces_its_own_earlier_session_whole() -> Tested {
    let dir = tempfile::tempdir()?;
    let place = dir.path().join("nursery").to_string_lossy().into_owned();
    accepted(&["demo", &place, "--episodes", "20"])?;
    accepted(&["demo", &place, "--episodes", "20"])?;
    assert_eq!(names(Path::new(&place))?.len(), 5);
    // No table of the longer session stays behind.
    accepted(&["demo", &place, "--episodes", "2"])?;
    assert_eq!(names(Path::new(&place))?, ["answers.json", "part-0.parquet", "teleassay.toml"]);
    Ok(())
}

#[test]
fn demo_refuses_an_earlier_session_that_was_changed() -> Tested {
    let dir = tempfile::tempdir()?;
    let place = dir.path().to_string_lossy().into_owned();
    let demo = ["demo", &place, "--episodes", "2"];
    accepted(&demo)?;
    // A profile with limits of one's own.
    let profile = dir.path().join("teleassay.toml");
    let text = fs::read_to_string(&profile)?;
    fs::write(&profile, format!("{text}\n# edited\n"))?;
    refused(&demo, "teleassay.toml")?;
    assert!(fs::read_to_string(&profile)?.ends_with("# edited\n"));
    fs::write(&profile, text)?;
    // A file of one's own next to the session.
    let report = dir.path().join("report.html");
    fs::write(&report, "mine")?;
    refused(&demo, "report.html")?;
    fs::remove_file(&report)?;
    // Names in an answer key are no licence to reach into other folders.
    let elsewhere = tempfile::tempdir()?;
    let precious = elsewhere.path().join("precious");
    fs::write(&precious, "mine")?;
    let key = dir.path().join("answers.json");
    let forged = fs::read_to_string(&key)?
        .replace("\"part-0.parquet\"", &format!("\"{}\"", precious.display()));
    fs::write(&key, forged)?;
    refused(&demo, "part-0.parquet")?;
    assert!(precious.exists());
    Ok(())
}

#[test]
fn manual_pages_replace_manual_pages_of_the_tool_alone() -> Tested {
    let dir = tempfile::tempdir()?;
    let place = dir.path().to_string_lossy().into_owned();
    let page = dir.path().join("teleassay-audit.1");
    fs::write(&page, "my notes")?;
    refused(&["man", "--to", &place], "teleassay-audit.1")?;
    // Nothing is written before everything may be.
    assert_eq!(names(dir.path())?, ["teleassay-audit.1"]);
    assert_eq!(fs::read_to_string(&page)?, "my notes");
    accepted(&["man", "--to", &place, "--force"])?;
    assert!(fs::read_to_string(&page)?.contains(".SH NAME"));
    // An update of the pages needs no option.
    accepted(&["man", "--to", &place])
}

#[test]
fn columns_replaces_a_profile_only_on_request() -> Tested {
    let dir = tempfile::tempdir()?;
    let place = dir.path().join("session").to_string_lossy().into_owned();
    accepted(&["demo", &place, "--episodes", "2"])?;
    let profile = dir.path().join("mine.toml").to_string_lossy().into_owned();
    fs::write(&profile, "# mine\n")?;
    refused(&["columns", &place, "--write", &profile], "mine.toml")?;
    assert_eq!(fs::read_to_string(&profile)?, "# mine\n");
    accepted(&["columns", &place, "--write", &profile, "--force"])?;
    assert!(fs::read_to_string(&profile)?.contains("[columns]"));
    // Recordings are not replaced, whatever is asked for.
    let table = format!("{place}/part-0.parquet");
    let before = fs::read(&table)?;
    refused(&["columns", &place, "--write", &table, "--force"], "one of the recordings")?;
    assert_eq!(fs::read(&table)?, before);
    Ok(())
}
