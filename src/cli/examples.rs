//! What each command's help begins with: commands to paste. A test parses every one of them.

pub const ALL: &str = "\
Examples:
  teleassay demo nursery --audit
  teleassay audit my_session/
  teleassay trace my_session/ --episode 17";

pub const AUDIT: &str = "\
Examples:
  teleassay audit my_session/
  teleassay audit my_session/ --episode 17
  teleassay audit my_session/ --out-html report.html
  teleassay audit my_session/ --out-keep-list keep.txt --out-findings findings.parquet
  teleassay audit 'day-*/run.parquet' --only dropped-frames,tracking-lag
  teleassay audit my_session/ --quiet --fail-on warn --out-junit junit.xml";

pub const COLUMNS: &str = "\
Examples:
  teleassay columns my_session/
  teleassay columns my_session/ --write teleassay.toml";

pub const JUDGE: &str = "\
Examples:
  teleassay judge monday.parquet --profile stricter.toml
  teleassay judge part-0.parquet part-1.parquet --out-json whole.json
  teleassay judge tuesday.parquet --baseline monday.parquet";

pub const COMPARE: &str = "\
Examples:
  teleassay compare monday/ tuesday/
  teleassay compare monday.parquet tuesday/
  teleassay compare monday/ tuesday/ wednesday/ thursday/
  teleassay compare monday/ tuesday/ --out-html comparison.html
  teleassay compare monday/ tuesday/ --out-json comparison.json --fail-on warn";

pub const KEEP: &str = "\
Examples:
  teleassay keep my_session/ --to clean
  teleassay keep my_session/ --to clean --trim-idle --split --drop-doubled
  teleassay keep my_session/ --to clean --episodes keep.txt
  teleassay keep my_session/ --to clean --where 'tracking-lag/lag < 150 ms and verdict != fail'
  teleassay keep my_session/ --to clean --mend unwrap:waist --dry-run";

pub const EXPLAIN: &str = "\
Examples:
  teleassay explain
  teleassay explain tracking-lag
  teleassay explain --json-schema
  teleassay explain --json-schema lines --json-detail full";

pub const DEMO: &str = "\
Examples:
  teleassay demo nursery --audit
  teleassay demo nursery --episodes 100 --rate 50 --layout struct";

pub const TRACE: &str = "\
Examples:
  teleassay trace my_session/ --episode 17
  teleassay trace my_session/ --episode 17 --joint elbow --from 8 --to 10.5
  teleassay trace my_session/ --episode 17 --out-svg episode-17.svg
  teleassay trace my_session/ --episode 17 --out-html episode-17.html";

pub const WATCH: &str = "\
Examples:
  teleassay watch my_session/
  teleassay watch my_session/ --bell --out-html live.html --out-measurements day.parquet
  teleassay watch my_session/ --resume day.parquet --out-measurements day.parquet
  teleassay watch my_session/ --exec 'set-light {verdict}' --out-keep-list keep.txt
  teleassay watch /mnt/share/my_session/ --poll";

pub const COMPLETIONS: &str = "\
Examples:
  teleassay completions bash > ~/.local/share/bash-completion/completions/teleassay
  teleassay completions zsh > ~/.zfunc/_teleassay
  teleassay completions fish > ~/.config/fish/completions/teleassay.fish";

pub const MAN: &str = "\
Examples:
  teleassay man audit | man -l -
  teleassay man --to ~/.local/share/man/man1";

#[cfg(test)]
mod tests {
    use clap::{CommandFactory as _, Parser as _};

    use crate::cli::args::Args;

    /// Splits as a shell does; what follows a redirection is not the tool's.
    fn words(line: &str) -> Vec<String> {
        let own = line.split(['>', '|']).next().unwrap_or_default();
        shlex::split(own).unwrap_or_default()
    }

    #[test]
    fn every_command_begins_its_help_with_examples_that_parse() {
        let mut root = Args::command();
        root.build();
        let own = root.get_subcommands().filter(|c| c.get_name() != "help");
        let commands: Vec<_> = std::iter::once(&root).chain(own).collect();
        assert!(commands.len() >= 7);
        for command in commands {
            let text = command.get_before_help().map(ToString::to_string).unwrap_or_default();
            let mut lines = text.lines();
            assert_eq!(lines.next(), Some("Examples:"), "{}", command.get_name());
            assert!(lines.clone().count() >= 2, "{}", command.get_name());
            for line in lines {
                let parsed = Args::try_parse_from(words(line));
                assert!(parsed.is_ok(), "{line}: {:?}", parsed.err().map(|e| e.to_string()));
                let of = format!("teleassay {} ", command.get_name());
                let root = command.get_name() == "teleassay";
                assert!(root || format!("{} ", line.trim()).starts_with(&of), "{line}");
            }
        }
    }
}
