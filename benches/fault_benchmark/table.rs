//! The report as Markdown.

use super::{Goal, Grade, Report};

const TITLE: &str = "# How well the checks find planted faults";

const HOW: &str = "\
Faults are planted on the simulated rig (`src/demo`): a hand moves the leader; the follower's servos
have a dead time, a time constant, a maximum speed, backlash, sag and counts; the jaws meet a plug; the
logger's loop jitters and is now and then late. Rigs of 6, 7, 8 and 14 joints, loops of 25, 30, 50,
100 and 200 Hz, sensors of 12, 14 and 16 bits, angles rounded to 0.1 degrees, tables in degrees,
radians and counts come up in turn; hand, rig and servos are drawn again for every trial.

`cargo bench --features internals --bench faults` prints this page. `-- --write` keeps it here,
`-- --short` runs what the tests run, `-- --misses` lists what was reported where something was missed.";

const LAG_NOTE: &str = "\
Backlash (play in the gears) looks like lag. The plain lag of `tracking-lag` includes what backlash
adds, and its limits (150 and 300 ms) are far above that. `backlash` reads the lag without it
(`lag_without_play`), and that number is held to 3 ms. On rigs without backlash the plain lag is held
to it too. The truth is the delay of the simulated drive itself, without backlash, on a slow ramp.";

const RECALL_NOTE: &str = "\
*assessed*: trials in which the check could look; where it cannot, it says why, and that is never a
pass. *found*: the share of these in which it reported the severity deserved. *joint*: the share
of these in which the joint it names first is the right one. What a cause suppresses is not counted as
found, but a shoulder that droops is a wrong range to whoever sees one joint alone, so for
`gravity-sag` a gain mismatch on that joint counts. Checks that judge nothing by themselves are held
against the same episode without the fault.";

impl Report {
    /// The whole page but its first lines.
    pub fn markdown(&self) -> String {
        let mut lines: Vec<String> = Vec::new();
        let scale = self.scale;
        let trials: usize = self.rows.iter().map(|row| row.planted).sum();
        lines.push(format!(
            "{trials} planted faults of {} kinds ({} trials each), {} sound sessions of {} episodes.",
            self.rows.len(),
            scale.trials,
            self.alarms.sessions,
            self.alarms.episodes / self.alarms.sessions.max(1)
        ));
        lines.extend(["", "## What is asked", "", "| what | found | asked | |"].map(String::from));
        lines.push("| --- | ---: | --- | --- |".into());
        for (what, value, asked, met) in self.asked() {
            let met = if met { "met" } else { "**missed**" };
            lines.push(format!("| {what} | {value} | {asked} | {met} |"));
        }
        lines.extend(["", LAG_NOTE, "", "## Found", "", RECALL_NOTE].map(String::from));
        for (grade, heading, least) in [
            (Grade::Fail, "At fail severity (asked: 0.98)", 0.98),
            (Grade::Warn, "At warn severity (asked: 0.90)", 0.90),
            (Grade::Advisory, "Advisory (asked: 0.85)", 0.85),
            (Grade::Reported, "Read and not judged", 0.85),
        ] {
            lines.extend(self.recall_table(grade, heading, least));
        }
        lines.extend(self.size_table());
        lines.extend(self.alarm_table());
        lines.join("\n") + "\n"
    }

    /// The page as it is kept, its date in front.
    pub fn page(&self, date: &str) -> String {
        format!("{TITLE}\n\n{HOW}\n\n{date}: {}", self.markdown())
    }

    fn recall_table(&self, grade: Grade, heading: &str, least: f64) -> Vec<String> {
        let mut lines = vec![String::new(), format!("### {heading}"), String::new()];
        lines.push("| check | planted | trials | assessed | found | joint |".into());
        lines.push("| --- | --- | ---: | ---: | ---: | ---: |".into());
        for row in self.rows.iter().filter(|row| row.grade == grade) {
            let share = row.recall();
            let found =
                if share >= least { format!("{share:.2}") } else { format!("**{share:.2}**") };
            let joint = match row.joints {
                (_, 0) => String::new(),
                (right, named) => format!("{:.2}", right as f64 / named as f64),
            };
            let assessed = format!("{:.2}", row.assessed as f64 / row.planted.max(1) as f64);
            let (check, what, planted) = (row.check, row.what, row.planted);
            let line =
                format!("| `{check}` | {what} | {planted} | {assessed} | {found} | {joint} |");
            lines.push(line);
        }
        lines
    }

    fn size_table(&self) -> Vec<String> {
        let mut lines = vec![String::new(), "## Sizes".into(), String::new()];
        lines.push("| size | unit | readings | error, median | error, 95 % | exact |".into());
        lines.push("| --- | --- | ---: | ---: | ---: | ---: |".into());
        for row in &self.sizes {
            let count = row.errors.len();
            let at = |share: usize| row.errors.get((count * share).div_ceil(100).max(1) - 1);
            let at = |share| at(share).map_or_else(String::new, |error| format!("{error:.3}"));
            let exact = match row.goal {
                Goal::Exact(_) => format!("{:.3}", row.value()),
                _ => String::new(),
            };
            let (what, unit) = (row.what, row.unit);
            lines.push(format!(
                "| {what} | {unit} | {count} | {} | {} | {exact} |",
                at(50),
                at(95)
            ));
        }
        lines
    }

    fn alarm_table(&self) -> Vec<String> {
        let alarms = &self.alarms;
        let mut lines = vec![String::new(), "## False alarms".into(), String::new()];
        lines.push(format!(
            "Of {} sound episodes; checks that are not listed said nothing of any.",
            alarms.episodes
        ));
        lines.push(String::new());
        lines.push("| check | fail | warn | episodes assessed |".into());
        lines.push("| --- | ---: | ---: | ---: |".into());
        for (check, (failed, warned)) in &alarms.by_check {
            let assessed = alarms.assessed.get(check).copied().unwrap_or(0);
            let share =
                |count: usize| format!("{:.2} %", 100.0 * count as f64 / assessed.max(1) as f64);
            let line =
                format!("| `{check}` | {} | {} | {assessed} |", share(*failed), share(*warned));
            lines.push(line);
        }
        lines
    }

    /// What was said where something was missed, and of sound sessions.
    pub fn misses(&self) -> String {
        let mut lines = Vec::new();
        for row in self.rows.iter().filter(|row| !row.missed.is_empty()) {
            lines.push(format!("{} ({:?}), {}:", row.check, row.grade, row.what));
            lines.extend(row.missed.iter().map(|missed| format!("    {missed}")));
        }
        for row in self.sizes.iter().filter(|row| !row.missed.is_empty()) {
            lines.push(format!("{}:", row.what));
            lines.extend(row.missed.iter().map(|missed| format!("    {missed}")));
        }
        lines.push("sound sessions:".into());
        lines.extend(self.alarms.reported.iter().map(|reported| format!("    {reported}")));
        lines.join("\n") + "\n"
    }
}
