//! What of each episode is left out and where it is cut, by the changes that were asked for.

use std::collections::{HashMap, HashSet};
use std::ops::Range;

use crate::app::keep::frames::{Cuts, jumps, within};
use crate::app::keep::request::Changes;
use crate::app::keep::spans::{Span, Spans};
use crate::app::{AppError, Audited};
use crate::check::timing::non_monotonic_time::{CHECK as CLOCK, JUMP_S};
use crate::check::timing::repeated_frames::CHECK as REPEATED;
use crate::engine::{self, Workers};
use crate::model::{CheckSpec, Episode, EpisodeIndex, Scorecard};
use crate::report::keep::{ChangeShape, EpisodeChangeShape};
use crate::source::Source as _;
use crate::source::copy::{EpisodeRows, Places, doubled};

/// Spans of frames of some episodes.
type Spanned = Vec<(EpisodeIndex, Vec<Range<u64>>)>;

/// The cuts of all episodes that have any, and what is recorded of them.
#[derive(Debug, Default)]
pub(super) struct AllCuts {
    pub of: HashMap<EpisodeIndex, Cuts>,
    pub changes: Vec<ChangeShape>,
}

/// What cuts are made with.
pub(super) struct Cutter<'a> {
    pub audited: &'a Audited,
    pub rows: &'a EpisodeRows,
    pub places: &'a Places,
    pub workers: &'a Workers,
    /// Episodes that are kept.
    pub kept: &'a [EpisodeIndex],
}

impl Cutter<'_> {
    /// Cuts as it was asked for.
    pub fn cut(&self, change: &Changes) -> Result<AllCuts, AppError> {
        let mut all = AllCuts::default();
        if change.trim_idle {
            let found = self.idle();
            all.add(
                "--trim-idle",
                "still heads and tails were left out but for 0.3 s",
                found,
                false,
            );
        }
        if !change.trim.is_empty() {
            let found = self.stated(&change.trim, change.split)?;
            all.add("--trim", "stated spans were left out", found, false);
        }
        if change.drop_doubled {
            let found = self.doubled()?;
            let what = "rows were left out that are equal to the row above in each column";
            all.add("--drop-doubled", what, found, false);
        }
        if change.split {
            let found = self.jumps();
            all.add("--split", "episodes were cut where the clock jumps", found, true);
        }
        Ok(all)
    }

    fn kept(&self) -> HashSet<EpisodeIndex> {
        self.kept.iter().copied().collect()
    }

    /// Cards of episodes that are kept and in which a check reports.
    fn reported(&self, check: &CheckSpec) -> Vec<EpisodeIndex> {
        let kept = self.kept();
        let reports = |card: &&Scorecard| {
            kept.contains(&card.key.index) && card.findings.iter().any(|f| f.check.is(check))
        };
        self.audited.outcome.cards.iter().filter(reports).map(|card| card.key.index).collect()
    }

    fn idle(&self) -> Spanned {
        let kept = self.kept();
        let cards = self.audited.outcome.cards.iter();
        let cards = cards.filter(|card| kept.contains(&card.key.index) && !card.trim.is_empty());
        let spans = |card: &Scorecard| {
            let spans = card.trim.iter().map(|trim| trim.span);
            spans.map(|span| u64::from(span.start)..u64::from(span.end)).collect()
        };
        cards.map(|card| (card.key.index, spans(card))).collect()
    }

    /// Spans that the person states: at the begin or the end, unless the episode may be cut in two.
    fn stated(&self, typed: &[String], split: bool) -> Result<Spanned, AppError> {
        let spans = Spans::read(typed)?;
        let source = &self.audited.source;
        let all: Vec<EpisodeIndex> = self.rows.indices().collect();
        let ids: Vec<&str> = all.iter().filter_map(|at| source.episode_id(*at)).collect();
        spans.check(&ids)?;
        let kept = self.kept();
        let wanted: Vec<EpisodeIndex> = all
            .into_iter()
            .filter(|at| kept.contains(at))
            .filter(|at| source.episode_id(*at).is_some_and(|id| spans.0.contains_key(id)))
            .collect();
        let mut found = Vec::new();
        let frames_of = |episode: &Episode| {
            let own = spans.0.get(&episode.key.id).map_or(&[][..], Vec::as_slice);
            let frames = episode.frames() as u64;
            let of = |span: &Span| match span {
                Span::Seconds(from, to) => within(&episode.time_s, (*from, *to)),
                Span::Frames(frames) => vec![frames.clone()],
            };
            (episode.key.clone(), frames, own.iter().flat_map(of).collect::<Vec<_>>())
        };
        engine::made_of(source, &wanted, self.workers, &frames_of, &mut |one| found.push(one));
        let mut out = Vec::new();
        for (key, frames, spans) in found {
            let inner = |span: &&Range<u64>| span.start > 0 && span.end < frames;
            if let Some(span) = spans.iter().find(inner).filter(|_| !split) {
                let what = format!(
                    "--trim: frames {} to {} of episode \"{}\" lie in its middle",
                    span.start, span.end, key.id
                );
                return Err(AppError::input(what)
                    .with_hint("add --split: what lies before and behind become two episodes"));
            }
            out.push((key.index, spans));
        }
        Ok(out)
    }

    fn doubled(&self) -> Result<Spanned, AppError> {
        let mut found = Vec::new();
        for index in self.reported(REPEATED.spec()) {
            let frames = doubled(&self.audited.source, index, self.rows, self.places)?;
            if !frames.is_empty() {
                found.push((index, frames.into_iter().map(|frame| frame..frame + 1).collect()));
            }
        }
        Ok(found)
    }

    fn jumps(&self) -> Spanned {
        let jump_s = JUMP_S.max(3.0 * self.audited.source.rig().period_s);
        let look = |episode: &Episode| (episode.key.index, jumps(&episode.time_s, jump_s));
        let mut found = Vec::new();
        let reported = self.reported(CLOCK.spec());
        engine::made_of(&self.audited.source, &reported, self.workers, &look, &mut |(
            index,
            at,
        )| {
            let at: Vec<Range<u64>> = at.into_iter().map(|frame| frame..frame).collect();
            if !at.is_empty() {
                found.push((index, at));
            }
        });
        found
    }
}

impl AllCuts {
    fn add(&mut self, option: &str, what: &str, found: Spanned, borders: bool) {
        let mut episodes = Vec::new();
        for (index, spans) in found {
            let cuts = self.of.entry(index).or_default();
            let frames = spans.iter().map(|span| [span.start, span.end]).collect();
            // The id is filled in where the document is written.
            episodes.push(EpisodeChangeShape { episode: index.to_string(), frames });
            if borders {
                cuts.at.extend(spans.iter().map(|span| span.start));
            } else {
                // What lies behind a span in the middle is a part of its own; at either end it is none.
                if option == "--trim" {
                    cuts.at.extend(spans.iter().map(|span| span.end));
                }
                cuts.out.extend(spans);
            }
        }
        self.changes.push(ChangeShape {
            option: option.to_owned(),
            what: what.to_owned(),
            figures: Vec::new(),
            episodes,
        });
    }
}
