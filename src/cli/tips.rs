//! Options as people type them by habit, and what they are called here.

/// Spellings of one wish, and the options that fulfil it, each with what follows it.
pub struct Habit {
    /// What is typed.
    pub typed: &'static [&'static str],
    /// Options, and how they are written.
    pub options: &'static [(&'static str, &'static str)],
    /// What to do where the command has none of them.
    pub else_do: &'static str,
}

const fn habit(
    typed: &'static [&'static str],
    options: &'static [(&'static str, &'static str)],
) -> Habit {
    Habit { typed, options, else_do: "" }
}

const fn answer(typed: &'static [&'static str], else_do: &'static str) -> Habit {
    Habit { typed, options: &[], else_do }
}

pub const HABITS: &[Habit] = &[
    habit(
        &["--json", "--as-json", "--json-out", "--output-json"],
        &[
            ("--format", "--format json (to standard output)"),
            ("--out-json", "--out-json FILE"),
            ("--json-schema", "--json-schema"),
        ],
    ),
    habit(&["--jsonl", "--ndjson"], &[("--format", "--format jsonl")]),
    habit(&["--html", "--html-report", "--report", "--web"], &[("--out-html", "--out-html FILE")]),
    habit(&["--junit", "--junit-xml", "--xml"], &[("--out-junit", "--out-junit FILE")]),
    habit(&["--svg", "--png", "--image"], &[("--out-svg", "--out-svg FILE")]),
    habit(&["--markdown", "--md", "--summary"], &[("--format", "--format markdown")]),
    habit(&["--github"], &[("--format", "--format github")]),
    habit(&["--text", "--table"], &[("--format", "--format table"), ("--plain", "--plain")]),
    habit(&["--tsv", "--raw", "--porcelain"], &[("--plain", "--plain")]),
    habit(
        &["-o", "--output", "--out", "--output-file", "--save", "--outfile", "--output-dir"],
        &[
            ("--out-html", "--out-html FILE"),
            ("--out-json", "--out-json FILE"),
            ("--write", "--write FILE"),
            ("--to", "--to DIR"),
        ],
    ),
    habit(
        &["-f", "--output-format", "--fmt", "--type"],
        &[("--format", "--format FORMAT"), ("--layout", "--layout LAYOUT")],
    ),
    habit(
        &[
            "--fps",
            "--hz",
            "--freq",
            "--frequency",
            "--rate-hz",
            "--sample-rate",
            "--sampling-rate",
        ],
        &[("--rate", "--rate HZ")],
    ),
    habit(
        &[
            "--config",
            "-c",
            "--conf",
            "--configuration",
            "--settings",
            "-p",
            "--cfg",
            "--config-file",
        ],
        &[("--profile", "--profile FILE")],
    ),
    habit(
        &["-v", "-vv", "-vvv", "--verbose", "--debug", "--details", "--detail"],
        &[
            ("--all", "--all (every row)"),
            ("--plain", "--plain (every record)"),
            ("--episode", "--episode ID (one episode in full)"),
        ],
    ),
    habit(&["--full", "--long", "--everything"], &[("--all", "--all")]),
    habit(&["--short", "--compact", "--terse"], &[("--brief", "--brief")]),
    habit(&["--silent", "-s", "--quite"], &[("--quiet", "--quiet")]),
    habit(
        &["--no-bar", "--no-progress-bar", "--hide-progress"],
        &[("--no-progress", "--no-progress")],
    ),
    habit(
        &["-j", "--jobs", "--workers", "--num-workers", "--cores", "--cpus", "--parallel", "-t"],
        &[("--threads", "--threads N")],
    ),
    habit(
        &["--check", "--checks", "--include", "--select", "--rule", "--rules", "--family"],
        &[("--only", "--only CHECK,...")],
    ),
    habit(
        &["--exclude", "--ignore", "--disable", "--skip-checks", "--without"],
        &[("--skip", "--skip CHECK,...")],
    ),
    habit(
        &["--strict", "--werror", "--fail-on-warn", "--fail-on-warning", "--warnings-as-errors"],
        &[("--fail-on", "--fail-on warn")],
    ),
    habit(
        &["--exit-zero", "--no-fail", "--ignore-errors", "--soft-fail"],
        &[("--fail-on", "--fail-on never")],
    ),
    habit(&["--required", "--must", "--needs"], &[("--require", "--require CHECK,...")]),
    habit(
        &["--coverage", "--min-coverage", "--min-share"],
        &[("--min-assessed", "--min-assessed SHARE")],
    ),
    habit(
        &["--ep", "-e", "--id", "--episodes", "--episode-id", "--episode-index", "--run", "--take"],
        &[("--episode", "--episode ID"), ("--episode-column", "--episode-column COLUMN")],
    ),
    habit(&["--joints", "--axis", "--motor"], &[("--joint", "--joint NAME,...")]),
    habit(&["--start", "--begin", "--start-time"], &[("--from", "--from SECONDS")]),
    habit(&["--end", "--stop", "--end-time", "--until"], &[("--to", "--to SECONDS")]),
    habit(
        &["--follower", "--state-column", "--states", "--measured", "--observation"],
        &[("--state", "--state COLUMN,...")],
    ),
    habit(
        &["--leader", "--action-column", "--actions", "--command", "--commands", "--cmd"],
        &[("--action", "--action COLUMN,...")],
    ),
    habit(
        &["--timestamp", "--timestamps", "--time-column", "--stamp"],
        &[("--time", "--time COLUMN")],
    ),
    habit(
        &["--units", "--angle-unit", "--angle-units", "--degrees", "--deg", "--radians", "--rad"],
        &[("--unit", "--unit deg (or rad, counts:4096, normalized:-1:1)")],
    ),
    habit(
        &["--scorecard", "--csv", "--parquet", "--to-csv"],
        &[
            ("--out-measurements", "--out-measurements FILE.parquet or FILE.csv"),
            ("--out-findings", "--out-findings FILE.parquet or FILE.csv"),
        ],
    ),
    habit(
        &["--findings", "--issues"],
        &[("--out-findings", "--out-findings FILE.parquet or FILE.csv")],
    ),
    habit(
        &["--drop", "--drop-list", "--bad", "--blacklist"],
        &[("--out-drop-list", "--out-drop-list FILE")],
    ),
    habit(
        &["--keep", "--keep-list", "--good", "--whitelist"],
        &[("--out-keep-list", "--out-keep-list FILE")],
    ),
    habit(
        &["--compare", "--reference", "--base", "--previous"],
        &[("--baseline", "--baseline FILE")],
    ),
    habit(
        &["--stats", "--statistics", "--normalize", "--normalization"],
        &[("--normalisation", "--normalisation")],
    ),
    habit(
        &["--print-profile", "--print-config", "--show-config", "--dump-config"],
        &[("--show-profile", "--show-profile")],
    ),
    habit(
        &["--no-color", "--no-colour", "--no-colors", "--plain-text"],
        &[("--color", "--color never")],
    ),
    habit(&["--colour", "--colors"], &[("--color", "--color WHEN")]),
    habit(&["--hash", "--sha256", "--checksum"], &[("--hash-inputs", "--hash-inputs")]),
    habit(&["--overwrite", "-y", "--yes"], &[("--force", "--force")]),
    answer(
        &["--threshold", "--thresholds", "--limit", "--limits", "--tolerance", "--max-lag"],
        "limits are set in a profile, such as [limits.tracking-lag] lag = { fail = \"300 ms\" }; \
         --profile FILE names it",
    ),
    answer(&["--list", "-l", "--list-checks"], "`teleassay explain` lists the checks"),
    answer(
        &["--input", "-i", "--data", "--path", "--dir", "--dataset", "--file", "--folder"],
        "paths are named without an option: `teleassay audit my_session/`",
    ),
    answer(&["--recursive", "-r", "-R"], "folders are read with all folders below them"),
];

/// Commands as people call them by habit, and what they are called here.
pub const COMMANDS: &[(&[&str], &str)] = &[
    (
        &[
            "check",
            "run",
            "scan",
            "test",
            "verify",
            "validate",
            "lint",
            "analyze",
            "analyse",
            "report",
            "inspect-data",
            "grade",
            "score",
        ],
        "audit",
    ),
    (&["rejudge", "re-judge", "gate"], "judge"),
    (&["monitor", "live", "follow", "tail"], "watch"),
    (&["schema", "inspect", "info", "show", "describe", "roles", "init", "profile"], "columns"),
    (&["diff", "cmp"], "compare"),
    (&["list", "docs", "doc", "rules", "checks", "manual"], "explain"),
    (&["plot", "view", "draw", "episode", "visualize", "visualise"], "trace"),
    (&["example", "sample", "generate", "simulate"], "demo"),
    (&["completion", "complete"], "completions"),
];
