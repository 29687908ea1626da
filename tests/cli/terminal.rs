//! The terminal at 80 columns.

use std::io;

use teleassay::model::{Skipped, Unread, Verdict};
use teleassay::report::{self, Detail, Understood, View};
use textwrap::core::display_width;

use super::outcome::{Stage, faulty, healthy, not_assessable, rig, rig_to_fix, roles};
use super::{excerpt, snapshot};

fn text(write: impl FnOnce(&mut Vec<u8>) -> io::Result<()>) -> io::Result<String> {
    let mut out = Vec::new();
    write(&mut out)?;
    let painted = String::from_utf8(out).map_err(io::Error::other)?;
    let text = unpainted(&painted);
    for line in text.lines() {
        // A command to paste is worth more whole than within 80 columns.
        let command = line.starts_with("  next: ") || line.starts_with("  and ");
        assert!(command || line.chars().count() <= 80, "wider than 80 columns: {line}");
        assert!(!line.chars().any(char::is_control), "control characters: {line}");
        assert!(line.is_ascii(), "not plain ASCII: {line}");
        assert_eq!(line, line.trim_end(), "trailing space");
    }
    Ok(text)
}

fn session(stage: &Stage) -> io::Result<String> {
    text(|out| report::session(&stage.view(), Detail::All, out))
}

fn short(stage: &Stage, detail: Detail, most: usize) -> io::Result<String> {
    let text = text(|out| report::session(&stage.view(), detail, out))?;
    assert!(text.lines().count() <= most, "{text}");
    Ok(text)
}

fn card(stage: &Stage, id: &str) -> io::Result<String> {
    let view = stage.view();
    let card = view.find(id).ok_or_else(|| io::Error::other("no such episode"))?;
    text(|out| report::card(&view, view.card(card), out))
}

#[test]
fn a_healthy_session() -> io::Result<()> {
    snapshot("session-healthy", &session(&healthy())?);
    snapshot("usual-healthy", &short(&healthy(), Detail::Usual, 40)?);
    Ok(())
}

#[test]
fn a_faulty_session() -> io::Result<()> {
    snapshot("session-faulty", &session(&faulty())?);
    snapshot("usual-faulty", &short(&faulty(), Detail::Usual, 40)?);
    snapshot("brief-faulty", &short(&faulty(), Detail::Brief, 10)?);
    Ok(())
}

#[test]
fn a_session_whose_rig_needs_fixing() -> io::Result<()> {
    snapshot("session-rig", &session(&rig_to_fix())?);
    snapshot("usual-rig", &short(&rig_to_fix(), Detail::Usual, 40)?);
    Ok(())
}

#[test]
fn a_session_that_cannot_be_assessed() -> io::Result<()> {
    snapshot("session-not-assessable", &session(&not_assessable())?);
    snapshot("usual-not-assessable", &short(&not_assessable(), Detail::Usual, 40)?);
    Ok(())
}

/// A pass with a file that could not be read is none, and the first lines say which file.
#[test]
fn what_was_not_read_stands_first() -> io::Result<()> {
    let mut stage = healthy();
    let reason = "the file is cut short".into();
    stage.outcome.unread = vec![Unread::new("nursery/part-7.parquet".into(), reason)];
    let text = session(&stage)?;
    assert!(text.starts_with("- n/a   Cannot be assessed: 1 file could not be read."), "{text}");
    let first: Vec<&str> = text.lines().take(5).map(str::trim).collect();
    assert!(
        first.join(" ").contains("No fault found in the other 24 episodes: not a pass."),
        "{first:?}"
    );
    assert!(
        first.join(" ").contains("not read (see below why): nursery/part-7.parquet"),
        "{first:?}"
    );
    let mut stage = faulty();
    stage.outcome.unread = vec![Unread::new("a.parquet".into(), "cut short".into())];
    let head: Vec<String> = session(&stage)?.lines().take(4).map(|l| l.trim().to_owned()).collect();
    assert!(head.join(" ").contains("1 file could not be read."), "{head:?}");
    Ok(())
}

/// Where nothing fails, the episodes that warn are named, in the order of the list below.
#[test]
fn what_only_warns_is_named_first() -> io::Result<()> {
    let mut stage = faulty();
    stage.outcome.cards.retain(|card| card.verdict != Verdict::Fail);
    stage.outcome.session.verdict = Verdict::Warn;
    stage.outcome.session.findings.clear();
    let text = session(&stage)?;
    let head = text.lines().map(str::trim).find(|line| line.starts_with("look first at: "));
    let listed: Vec<&str> = text
        .lines()
        .skip_while(|line| !line.starts_with("  episode  status"))
        .filter(|line| line.contains("! warn"))
        .filter_map(|line| line.split_whitespace().next())
        .take(3)
        .collect();
    let head = head.unwrap_or_default();
    let named = head.trim_start_matches("look first at: ").split(", ");
    let named: Vec<&str> = named.filter_map(|one| one.split(' ').next()).collect();
    assert!(listed.len() == 3 && listed == named, "{head}\n{text}");
    assert!(head.contains("(neutral offset elbow)"), "{head}");
    Ok(())
}

#[test]
fn cards_of_episodes() -> io::Result<()> {
    snapshot("card-dropped", &card(&faulty(), "3")?);
    snapshot("card-lag", &card(&faulty(), "7")?);
    snapshot("card-healthy", &card(&healthy(), "0")?);
    snapshot("card-not-assessable", &card(&not_assessable(), "0")?);
    Ok(())
}

#[test]
fn columns() -> io::Result<()> {
    let stage = healthy();
    let understood = Understood {
        skipped: &Skipped::default(),
        rig: &rig(),
        roles: &roles(),
        inputs: &stage.inputs,
        unread: &[],
        episodes: 24,
        profile: None,
        unused: &[],
        next: "teleassay columns nursery --write teleassay.toml",
    };
    let shown = text(|out| report::columns(&understood, out))?;
    snapshot("columns", &shown);
    Ok(())
}

#[test]
fn a_wider_terminal_gets_wider_columns_and_none_is_too_narrow() -> io::Result<()> {
    let stage = faulty();
    for (width, widest) in [(0, 80), (80, 80), (100, 100), (500, 160)] {
        let mut out = Vec::new();
        report::session(&View { width, ..stage.view() }, Detail::All, &mut out)?;
        let text = unpainted(&String::from_utf8(out).map_err(io::Error::other)?);
        assert!(text.lines().all(|line| line.chars().count() <= widest), "{width}: {text}");
    }
    Ok(())
}

#[test]
fn colour_only_where_something_is_wrong() -> io::Result<()> {
    let (mut good, mut bad) = (Vec::new(), Vec::new());
    report::session(&healthy().view(), Detail::Usual, &mut good)?;
    report::session(&faulty().view(), Detail::Usual, &mut bad)?;
    assert!(!good.contains(&0x1b));
    assert!(bad.contains(&0x1b));
    Ok(())
}

#[test]
fn the_last_two_lines_are_the_verdict_and_a_command() -> io::Result<()> {
    for stage in [healthy(), faulty(), rig_to_fix(), not_assessable()] {
        let text = session(&stage)?;
        let lines: Vec<&str> = text.lines().collect();
        assert!(lines[lines.len() - 1].starts_with("  next: teleassay "), "{text}");
        let upto = lines.iter().position(|line| {
            line.starts_with("        usable: ") || line.starts_with("        recorded: ")
        });
        let verdict = &lines[..upto.unwrap_or(0)];
        let end = &lines[lines.len() - 1 - verdict.len()..lines.len() - 1];
        assert!(!verdict.is_empty() && verdict == end, "the first lines say it too: {text}");
    }
    Ok(())
}

#[test]
fn hostile_names_and_long_lists_stay_in_their_columns() -> io::Result<()> {
    let mut stage = faulty();
    stage.rig.joints[2].name = "the elbow of the arm that stands next to the window".to_owned();
    for card in &mut stage.outcome.cards {
        card.key.id = format!("\u{1b}[2J{}{}", "a-very-long-folder/".repeat(5), card.key.id);
    }
    let id = stage.outcome.cards[3].key.id.clone();
    session(&stage)?;
    card(&stage, &id)?;
    Ok(())
}

/// Signs of two columns and marks of none leave every bar below its heading, and no name is cut.
#[test]
fn columns_align_in_any_script_and_names_are_whole() -> io::Result<()> {
    let mut stage = faulty();
    let elbow = "\u{8098}\u{95a2}\u{7bc0}";
    let wrist = "poigne\u{301}t_rotation_longue";
    (stage.rig.joints[2].name, stage.rig.joints[3].name) = (elbow.to_owned(), wrist.to_owned());
    for (at, card) in stage.outcome.cards.iter_mut().enumerate() {
        card.key.id = format!("\u{82d7}\u{5e8a}-{at}");
    }
    let view = stage.view();
    let mut texts = Vec::new();
    let mut out = Vec::new();
    report::session(&view, Detail::All, &mut out)?;
    texts.push(out);
    for card in &stage.outcome.cards {
        let mut out = Vec::new();
        report::card(&view, card, &mut out)?;
        texts.push(out);
    }
    let mut bars = 0;
    for text in texts {
        let text = unpainted(&String::from_utf8(text).map_err(io::Error::other)?);
        let column = |line: &str, sign| line.find(sign).map(|at| display_width(&line[..at]));
        let head = text.lines().find_map(|line| column(line, "0      limit"));
        for line in text.lines() {
            let command = line.starts_with("  next: ") || line.starts_with("  and ");
            assert!(command || display_width(line) <= 80, "wider than 80 columns: {line}");
            assert!(!line.contains('~'), "cut: {line}");
            if let Some(bar) = column(line, "|-").or(column(line, "|o")) {
                assert_eq!(Some(bar), head, "{line}");
                bars += 1;
            }
        }
    }
    assert!(bars > 50, "{bars}");
    Ok(())
}

#[test]
fn one_record_a_line() -> io::Result<()> {
    let stage = faulty();
    let mut out = Vec::new();
    report::plain(&stage.view(), None, &mut out)?;
    let text = String::from_utf8(out).map_err(io::Error::other)?;
    assert_eq!(text.lines().filter(|l| l.starts_with("episode\t")).count(), 24);
    assert!(text.contains(
        "\nfinding\t7\tfail\ttracking-lag\tlag\twrist_pitch\t0.611\t0.3\ts\t[246,302)\t"
    ));
    assert!(text.contains(", up to episode 19 (limit 2.00 deg)."), "{text}");
    assert!(text.contains("\t0.0681\t0.0785\t0.9586\n"), "{text}");
    assert!(
        text.contains(
            "\nsuppressed\t7\tneutral-offset\twrist_pitch\tfollows\ttracking-lag\twrist_pitch\n"
        ),
        "{text}"
    );
    assert!(text.contains("\nsession-suppressed\t1\n"), "{text}");
    assert!(text.lines().all(|line| line.split('\t').all(|field| !field.is_empty())));
    Ok(())
}

#[test]
fn markdown_stays_small_and_whole() -> io::Result<()> {
    let mut stage = faulty();
    let card = stage.outcome.cards[3].clone();
    stage.outcome.cards = vec![card; 100_000];
    for card in &mut stage.outcome.cards {
        card.key.id = "<script>|x".repeat(100);
    }
    let mut out = Vec::new();
    report::markdown(&stage.view(), &mut out)?;
    let text = String::from_utf8(out).map_err(io::Error::other)?;
    assert!(text.len() < 1_000_000, "{} bytes", text.len());
    assert!(!text.contains("<script>"));
    assert!(text.contains("99950 more episodes are not shown"));
    let mut out = Vec::new();
    report::markdown(&faulty().view(), &mut out)?;
    snapshot("markdown", &String::from_utf8(out).map_err(io::Error::other)?);
    Ok(())
}

#[test]
fn a_page_that_escapes_make_too_long_is_cut_at_a_line() -> io::Result<()> {
    let mut stage = faulty();
    let long = "&".repeat(5_000);
    let unread = stage.outcome.unread[0].clone();
    stage.outcome.unread = vec![unread; 200];
    let hole = stage.outcome.session.not_assessed[0].clone();
    stage.outcome.session.not_assessed = vec![hole; 200];
    for file in &mut stage.outcome.unread {
        (file.path, file.reason) = (long.clone().into(), long.clone());
    }
    for hole in &mut stage.outcome.session.not_assessed {
        hole.reason.clone_from(&long);
    }
    let finding = stage.outcome.cards[7].findings[0].clone();
    for card in &mut stage.outcome.cards {
        card.key.id.clone_from(&long);
        card.findings = vec![finding.clone(); 5];
    }
    for joint in &mut stage.rig.joints {
        joint.name.clone_from(&long);
    }
    let mut out = Vec::new();
    report::markdown(&stage.view(), &mut out)?;
    assert!(out.len() <= 1_000_000 && out.len() > 900_000, "{} bytes", out.len());
    let text = String::from_utf8(out).map_err(io::Error::other)?;
    assert!(
        text.ends_with("\nThe page is cut here: teleassay audit nursery --plain prints all.\n")
    );
    assert!(text.lines().rev().skip(1).step_by(1).nth(1).is_some_and(|l| l.starts_with("- not ")));
    Ok(())
}

/// Takes away the three styles that status words have, and nothing else: what remains of control
/// characters would come from the data.
fn unpainted(text: &str) -> String {
    ["\u{1b}[33m", "\u{1b}[1m", "\u{1b}[31m", "\u{1b}[0m"]
        .iter()
        .fold(text.to_owned(), |text, style| text.replace(style, ""))
}

/// Every line of the excerpt in README.md is what the demo prints, in that order.
#[test]
fn the_readme_shows_what_the_demo_prints() -> crate::support::binary::Tested {
    let dir = tempfile::tempdir()?;
    let output = assert_cmd::Command::cargo_bin("teleassay")?
        .current_dir(dir.path())
        .env("NO_COLOR", "1")
        .args(["demo", "nursery", "--audit"])
        .output()?;
    let printed = String::from_utf8(output.stdout)?;
    let readme = include_str!("../../README.md");
    let shown = excerpt(readme, "<!-- excerpt of `teleassay demo nursery --audit`", &printed)?;
    assert!((20..=30).contains(&shown), "{shown} lines");
    Ok(())
}
