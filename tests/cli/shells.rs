//! Completions load in the shells they are for, and manual pages are clean.

use std::error::Error;
use std::path::Path;
use std::process::Command;

use crate::support::binary::{Tested, run, said};

/// Runs a program that not every machine has. Where `TELEASSAY_ALL_TOOLS` is set it must be there:
/// a check that was not made must not look like one that passed.
fn tool(name: &str, args: &[&str], dir: &Path) -> Result<Option<String>, Box<dyn Error>> {
    match Command::new(name).args(args).current_dir(dir).output() {
        Ok(output) => {
            let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
            let (out, err) = (text(&output.stdout), text(&output.stderr));
            assert!(output.status.success(), "{name} {args:?}: {out}{err}");
            Ok(Some(out + &err))
        }
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => {
            assert!(std::env::var_os("TELEASSAY_ALL_TOOLS").is_none(), "{name} is not there");
            Ok(None)
        }
        Err(e) => Err(e.into()),
    }
}

fn script(shell: &str, dir: &Path, name: &str) -> Tested {
    let output = run(&["completions", shell])?;
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    std::fs::write(dir.join(name), output.stdout)?;
    Ok(())
}

#[test]
fn bash_completes_commands_options_and_values() -> Tested {
    let dir = tempfile::tempdir()?;
    script("bash", dir.path(), "teleassay.bash")?;
    let ask = |words: &str, at: usize| {
        let code = format!(
            "source teleassay.bash; COMP_WORDS=({words}); COMP_CWORD={at}; \
             _teleassay teleassay \"${{COMP_WORDS[{at}]}}\" \"${{COMP_WORDS[{at}-1]}}\"; \
             echo ${{COMPREPLY[@]}}"
        );
        tool("bash", &["--norc", "-c", &code], dir.path())
    };
    assert_eq!(ask("teleassay tr", 1)?.as_deref().map(str::trim), Some("trace"));
    assert_eq!(ask("teleassay audit --out-ju", 2)?.as_deref().map(str::trim), Some("--out-junit"));
    assert_eq!(ask("teleassay audit --fail-on w", 3)?.as_deref().map(str::trim), Some("warn"));
    Ok(())
}

#[test]
fn zsh_and_fish_load_theirs() -> Tested {
    let dir = tempfile::tempdir()?;
    script("zsh", dir.path(), "_teleassay")?;
    let code = "fpath=($PWD $fpath); autoload -Uz compinit; compinit -u -D; autoload +X _teleassay; \
                print $_comps[teleassay]; whence -w _teleassay";
    if let Some(printed) = tool("zsh", &["-f", "-c", code], dir.path())? {
        assert_eq!(printed, "_teleassay\n_teleassay: function\n");
    }
    script("fish", dir.path(), "teleassay.fish")?;
    let code = "source teleassay.fish; complete -C 'teleassay tr'; \
                complete -C 'teleassay audit --fail-on w'";
    if let Some(printed) = tool("fish", &["--no-config", "-c", code], dir.path())? {
        let words: Vec<&str> = printed.lines().filter_map(|l| l.split('\t').next()).collect();
        assert_eq!(words, ["trace", "warn"], "{printed}");
    }
    for shell in ["elvish", "powershell"] {
        script(shell, dir.path(), shell)?;
        assert!(std::fs::read_to_string(dir.path().join(shell))?.contains("out-junit"));
    }
    Ok(())
}

#[test]
fn a_page_for_each_command_and_mandoc_finds_no_fault() -> Tested {
    let dir = tempfile::tempdir()?;
    let to = dir.path().join("man1");
    let output = run(&["man", "--to", &to.to_string_lossy()])?;
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    let mut names: Vec<String> = std::fs::read_dir(&to)?
        .map(|entry| Ok(entry?.file_name().to_string_lossy().into_owned()))
        .collect::<Result<_, std::io::Error>>()?;
    names.sort();
    assert!(names.len() >= 8 && names.contains(&"teleassay-trace.1".to_owned()), "{names:?}");
    for name in &names {
        let page = std::fs::read_to_string(to.join(name))?;
        for part in ["NAME", "SYNOPSIS", "OPTIONS", "EXAMPLES", "\"EXIT STATUS\""] {
            assert!(
                page.contains(&format!(".SH {part}")) || page.contains(&format!(".SH \"{part}\"")),
                "{name}: {part}"
            );
        }
        if let Some(printed) = tool("mandoc", &["-T", "lint", "-W", "style", name], &to)? {
            assert_eq!(printed, "", "{name}");
        }
        if let Some(printed) = tool("mandoc", &["-T", "ascii", name], &to)? {
            let plain: String = printed.chars().filter(|c| *c != '\u{8}').collect();
            assert!(plain.contains("130 interrupted"), "{plain}");
        }
    }
    Ok(())
}

#[test]
fn one_page_goes_to_standard_output() -> Tested {
    let output = run(&["man", "audit"])?;
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    let page = String::from_utf8(output.stdout)?;
    assert!(page.contains("2 wrong usage, profile or input\n3 nothing"), "{page}");
    let output = run(&["man", "audti"])?;
    assert_eq!(output.status.code(), Some(2));
    assert!(said(&output).contains("there is no command \"audti\""), "{}", said(&output));
    Ok(())
}
