//! The action's steps and the commit hook, as their files have them, run here.

use std::error::Error;
use std::path::Path;
use std::process::{Command, Output};

use serde_json::Value;
use teleassay::demo::{Recipe, WriteOptions, write};

use crate::support::binary::{Tested, run, said};
use crate::support::python::python;

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

fn parsed(file: &str) -> Result<Value, Box<dyn Error>> {
    let script = "import json, sys, yaml; print(json.dumps(yaml.safe_load(open(sys.argv[1]))))";
    let file = Path::new(ROOT).join(file);
    let output = Command::new(python()?).args(["-c", script]).arg(file).output()?;
    assert!(output.status.success(), "{}", said(&output));
    Ok(serde_json::from_slice(&output.stdout)?)
}

/// Runs a step of the action with these inputs, as a runner does: bash that ends at an error.
fn step(name: &str, inputs: &[(&str, &str)], dir: &Path) -> Result<Output, Box<dyn Error>> {
    let action = parsed(".github/actions/audit/action.yml")?;
    let steps = action["runs"]["steps"].as_array().ok_or("no steps")?;
    let step = steps.iter().find(|step| step["name"] == name).ok_or("no such step")?;
    let binary = assert_cmd::cargo::cargo_bin("teleassay");
    let folder = binary.parent().ok_or("no folder")?.to_path_buf();
    let path = std::env::var_os("PATH").unwrap_or_default();
    let paths = std::env::join_paths([folder].into_iter().chain(std::env::split_paths(&path)))?;
    let mut command = Command::new("bash");
    command.args(["--noprofile", "--norc", "-eo", "pipefail", "-c"]);
    command.arg(step["run"].as_str().ok_or("nothing to run")?);
    command.current_dir(dir).env("PATH", paths).env("NO_COLOR", "1");
    command.env("GITHUB_STEP_SUMMARY", dir.join("summary.md"));
    for (key, value) in step["env"].as_object().ok_or("no environment")? {
        let value = value.as_str().ok_or("no text")?;
        let input = value.trim_start_matches("${{ inputs.").trim_end_matches(" }}");
        let given = inputs.iter().find(|(name, _)| *name == input).map(|(_, value)| *value);
        let default = action["inputs"][input]["default"].as_str();
        command.env(key, given.or(default).ok_or("an input without a value")?);
    }
    Ok(command.output()?)
}

fn recorded(dir: &Path, healthy: bool) -> Tested {
    let place = dir.join("recordings");
    if healthy {
        let recipe = Recipe { episodes: 8, seed: 64, ..Recipe::default() };
        write(&place, &recipe, &WriteOptions::default())?;
    } else {
        assert_eq!(run(&["demo".as_ref(), place.as_os_str()])?.status.code(), Some(0));
    }
    Ok(())
}

fn size(file: &Path) -> u64 {
    file.metadata().map_or(0, |meta| meta.len())
}

#[test]
fn the_steps_fail_on_bad_episodes_and_leave_reports_behind() -> Tested {
    let dir = tempfile::tempdir()?;
    recorded(dir.path(), false)?;
    let inputs = [("path", "recordings")];
    let output = step("Audit", &inputs, dir.path())?;
    assert_eq!(output.status.code(), Some(1), "{}", said(&output));
    for file in ["report.html", "junit.xml", "report.json", "measurements.parquet"] {
        assert!(size(&dir.path().join("teleassay-reports").join(file)) > 500, "{file}");
    }
    let summary = std::fs::read_to_string(dir.path().join("summary.md"))?;
    assert!(summary.contains("dropped frames"), "{summary}");
    let output = step("Annotate", &inputs, dir.path())?;
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    assert!(String::from_utf8_lossy(&output.stdout).contains("::error"));
    let allowed = [inputs[0], ("max-bad-share", "50 %"), ("min-usable-minutes", "1")];
    assert_eq!(step("Audit", &allowed, dir.path())?.status.code(), Some(0));
    Ok(())
}

#[test]
fn the_steps_pass_on_a_healthy_set() -> Tested {
    let dir = tempfile::tempdir()?;
    recorded(dir.path(), true)?;
    let output = step("Audit", &[("path", "recordings")], dir.path())?;
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    assert!(size(&dir.path().join("summary.md")) > 100);
    Ok(())
}

#[test]
fn the_hook_refuses_a_commit_with_bad_recordings() -> Tested {
    let hooks = parsed(".pre-commit-hooks.yaml")?;
    let entry = hooks[0]["entry"].as_str().ok_or("no entry")?;
    let mut words = entry.split(' ');
    assert_eq!(words.next(), Some("teleassay"));
    let words: Vec<&str> = words.collect();
    for (healthy, code) in [(false, 1), (true, 0)] {
        let dir = tempfile::tempdir()?;
        recorded(dir.path(), healthy)?;
        let file = dir.path().join("recordings/part-0.parquet").display().to_string();
        let output = run(&[&words[..], &[file.as_str()]].concat())?;
        assert_eq!(output.status.code(), Some(code), "{}", said(&output));
    }
    Ok(())
}

/// What an image of the tool runs, here with the ordinary binary and its libraries: as user 65532, in a root
/// that holds nothing else, on data that cannot be written. Where the tests do not run as root the script
/// says that it left this out.
#[test]
fn the_binary_runs_as_nobody_in_a_root_of_its_own() -> Tested {
    let mut command = Command::new(Path::new(ROOT).join("scripts/image/check"));
    let output =
        command.arg("--dynamic").arg(assert_cmd::cargo::cargo_bin("teleassay")).output()?;
    assert!(output.status.success(), "{}", said(&output));
    let text = String::from_utf8_lossy(&output.stdout);
    assert!(text.starts_with("an audit as user 65532") || text.starts_with("left out"), "{text}");
    Ok(())
}
