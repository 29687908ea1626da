//! What a person sees first, scene by scene: the lines that must stand on the first screen, and what
//! must not. All by the real binary.

mod faults;
mod groups;
mod partial;
mod sizes;

use std::ffi::OsStr;
use std::path::Path;

use teleassay::demo::{Recipe, WriteOptions, write};
use textwrap::core::display_width;

use crate::support::binary::{Tested, run, said};

/// Lines of a screen.
const SCREEN: usize = 40;

/// What was printed, and the exit code.
struct Seen {
    text: String,
    lines: Vec<String>,
    code: Option<i32>,
}

/// Prints the usual screen of a folder.
fn audit<A: AsRef<OsStr>>(dir: &Path, args: &[A]) -> Result<Seen, Box<dyn std::error::Error>> {
    let mut all = vec![OsStr::new("audit"), dir.as_os_str()];
    all.extend(args.iter().map(AsRef::as_ref));
    let output = run(&all)?;
    let text = String::from_utf8(output.stdout.clone())?;
    if !matches!(output.status.code(), Some(0 | 1)) {
        return Err(format!("exit {:?}: {}", output.status.code(), said(&output)).into());
    }
    let lines: Vec<String> = text.lines().map(str::to_owned).collect();
    for line in &lines {
        // A command to paste is worth more whole than within 80 columns.
        let command = ["  next: ", "  clean copy: ", "  and "];
        let command = command.iter().any(|word| line.trim_start().starts_with(word.trim_start()));
        assert!(command || display_width(line) <= 80, "wider than 80 columns: {line}");
        assert!(!line.contains('~'), "a name is cut: {line}");
    }
    Ok(Seen { text, lines, code: output.status.code() })
}

/// A simulated session in a folder of its own.
fn session(recipe: &Recipe) -> Result<tempfile::TempDir, Box<dyn std::error::Error>> {
    let dir = tempfile::tempdir()?;
    write(dir.path(), recipe, &WriteOptions::default())?;
    Ok(dir)
}

impl Seen {
    /// One text without line breaks: where a line is wrapped is no matter here.
    fn flat(&self) -> String {
        self.text.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// Every one of these stands on the screen, which has no more than 40 lines.
    fn has(&self, texts: &[&str]) -> &Self {
        assert!(self.lines.len() <= SCREEN, "{} lines:\n{}", self.lines.len(), self.text);
        for text in texts {
            assert!(self.flat().contains(text), "`{text}` is missing:\n{}", self.text);
        }
        self
    }

    /// None of these does.
    fn lacks(&self, texts: &[&str]) -> &Self {
        for text in texts {
            assert!(!self.flat().contains(text), "`{text}` stands there:\n{}", self.text);
        }
        self
    }

    /// The first line begins so.
    fn begins(&self, text: &str) -> &Self {
        assert!(self.flat().starts_with(text), "not first, `{text}`:\n{}", self.text);
        self
    }

    /// The exit code.
    fn exits(&self, code: i32) -> &Self {
        assert_eq!(self.code, Some(code), "{}", self.text);
        self
    }
}
