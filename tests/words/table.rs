//! Words that no text may have, and what to write instead.

/// One line of the table.
pub struct Rule {
    /// Refused words and phrases, in small letters.
    pub not: &'static [&'static str],
    /// Phrases with a refused word that may stay.
    pub except: &'static [&'static str],
    /// What to write instead.
    pub but: &'static str,
}

const fn never(not: &'static [&'static str], but: &'static str) -> Rule {
    Rule { not, except: &[], but }
}

const fn unless(
    not: &'static [&'static str],
    but: &'static str,
    except: &'static [&'static str],
) -> Rule {
    Rule { not, except, but }
}

/// The table.
pub const RULES: &[Rule] = &[
    never(&["nought", "noughts"], "zero"),
    never(&["befall", "befalls", "befell", "befallen"], "affect, affects, affected"),
    // An option of `scripts/truth`.
    unless(&["anew", "afresh"], "again, re-evaluate", &["afresh n", "add_argument afresh"]),
    never(&["parted by"], "separated by"),
    never(&["leap", "leaps", "leapt", "leaping"], "jump"),
    never(&["step of the clock", "steps of the clock"], "jump of the clock"),
    never(&["speak up", "speaks up"], "reports"),
    never(&["told"], "reported, distinguished"),
    never(&["fellow", "fellows"], "neighbours, the other episodes"),
    never(&["beside"], "next to, compared with"),
    never(&["stood"], "was at rest"),
    // "At least" and the method keep the word.
    unless(&["least"], "min, minimum, smallest", &["at least", "least squares"]),
    never(&["greatest"], "max, maximum, largest"),
    // Two names of statistics.
    unless(
        &["deviation", "deviations"],
        "standard deviation, std, difference",
        &["standard deviation", "standard deviations", "absolute deviation", "absolute deviations"],
    ),
    never(&["quotient", "quotients"], "ratio"),
    never(&["b less a", "a less b"], "B minus A"),
    // As a verb: work over threads, points over a range.
    unless(
        &["spread", "spreads"],
        "standard deviation, std, range",
        &["spread over", "spread across", "spread evenly", "evenly spread", "spread the cost"],
    ),
    never(&["price", "prices"], "cost"),
    never(&["more data"], "inconclusive"),
    never(&["what matters"], "equivalence margin"),
    // The usual phrase of statistics.
    unless(&["chance", "chances"], "p-value, probability", &["by chance"]),
    never(&["hole", "holes"], "not assessed, gap"),
    never(&["silence", "silences", "silenced"], "suppress, suppressed"),
    never(&["consequence", "consequences"], "suppressed findings, result"),
    never(&["can be saved", "could be saved", "is saved by"], "recoverable, recovery"),
    never(&["what the session holds", "session holds"], "session summary"),
    never(&["is no pass"], "is not a pass"),
    never(&["let only"], "fail only on"),
    // A word in the names of columns.
    unless(&["picture", "pictures"], "image, images", &[" picture "]),
    never(&["instrument", "instruments"], "check"),
    // Of a signal, and the function.
    unless(
        &["floor", "floors"],
        "layer, lower limit",
        &["noise floor", "math floor", "np floor", " floor "],
    ),
    never(
        &[
            "way of the arm",
            "way of the hand",
            "way of an arm",
            "way of a joint",
            "way it went",
            "took another way",
            "goes another way",
            "by another way",
            "way home",
            "way back",
            "roundabout",
            "their way",
        ],
        "path, return",
    ),
    // Of a role, and where the word is explained.
    unless(
        &["play"],
        "backlash",
        &[
            "play a role",
            "play one role",
            // The id of a measurement, alone in a literal or in backticks.
            " play ",
            "play their roles",
            "play that role",
            "play which role",
            "play its role",
            "play another role",
            "backlash play",
            "play in gears",
            "play in the gears",
        ],
    ),
    never(&["range mismatch"], "gain mismatch"),
    // Benchmarks: the command and its targets.
    unless(
        &["bench"],
        "rig",
        &[
            "cargo bench",
            "scripts bench",
            "bench faults",
            "bench comparison",
            "bench cost",
            "bench read",
            "bench scan",
            "bench measure",
            "bench py",
            "bench name",
        ],
    ),
    never(&["be it"], "whether it is"),
    never(&["loss of following", "pushed follower", "lag steadiness"], "the title of the id"),
    never(
        &["leader chatter", "hot servo", "clock order", "agreement of the arms"],
        "the title of the id",
    ),
    never(&["odd duration", "odd motion", "odd path", "odd chatter"], "the title of the id"),
    never(&["mixed paces"], "the title of the id"),
];

/// Ids that were renamed before the first release, and their names.
pub const OLD_IDS: &[(&str, &str)] = &[
    ("lost-following", "tracking-loss"),
    ("follower-pushed", "external-disturbance"),
    ("lag-steadiness", "lag-variation"),
    ("leader-chatter", "leader-stick-slip"),
    ("hot-servo", "servo-temperature"),
    ("clock-order", "non-monotonic-time"),
    ("arm-agreement", "two-arm-consistency"),
    ("odd-duration", "duration-outlier"),
    ("odd-motion", "motion-outlier"),
    ("odd-path", "path-outlier"),
    ("odd-chatter", "stick-slip-outlier"),
    ("mixed-paces", "mixed-speeds"),
];
