//! Which episodes are kept, in which parts, and what is changed in them.

use std::collections::HashMap;

use crate::app::keep::cuts::Cutter;
use crate::app::keep::frames::Cuts;
use crate::app::keep::layout::{KeptEpisode, Laid, Plan};
use crate::app::keep::mended::{Mended, Workshop};
use crate::app::keep::repairs::Repairs;
use crate::app::keep::request::KeepRequest;
use crate::app::keep::select::Selector;
use crate::app::{AppError, Audited};
use crate::engine::Workers;
use crate::model::{CardPlace, EpisodeIndex};
use crate::report::keep::{ChangeShape, EpisodeChangeShape};
use crate::source::Source as _;
use crate::source::copy::{EpisodeRows, Places};

/// An episode that is left out.
#[derive(Debug, Clone)]
pub(super) struct LeftOut {
    pub index: EpisodeIndex,
    pub why: Vec<String>,
}

/// What was decided.
#[derive(Debug)]
pub(super) struct Chosen {
    pub kept: Vec<KeptEpisode>,
    pub left_out: Vec<LeftOut>,
    pub laid: Laid,
    pub changes: Vec<ChangeShape>,
    pub rows: EpisodeRows,
}

/// Decides; `measured` is whether there are cards.
pub(super) fn choose(
    request: &KeepRequest,
    selector: &Selector,
    audited: &Audited,
    measured: bool,
    workers: &Workers,
) -> Result<Chosen, AppError> {
    let source = &audited.source;
    let (rows, places) = (EpisodeRows::of(source), Places::of(source));
    let mut repairs = Repairs::default();
    let change = &request.change;
    if change.trim_idle {
        repairs.trim_idle();
    }
    if change.split {
        repairs.split();
    }
    if change.drop_doubled {
        repairs.drop_doubled();
    }
    let mut workshop = Workshop { audited, places: &places, workers, repairs: &mut repairs };
    let mended: Vec<Mended> =
        change.mend.iter().map(|option| workshop.mend(option)).collect::<Result<_, _>>()?;
    together(request, &mended)?;
    let (mut left_out, stay) = select(selector, audited, measured, &repairs, &rows)?;
    let cutter = Cutter { audited, rows: &rows, places: &places, workers, kept: &stay };
    let mut cuts = cutter.cut(change)?;
    let cards = audited.outcome.cards.iter().enumerate();
    let place_of: HashMap<EpisodeIndex, usize> =
        cards.map(|(place, card)| (card.key.index, place)).collect();
    let later = mended.iter().map(|mended| mended.later).sum::<i64>();
    let mut kept = Vec::new();
    for index in stay {
        let applies =
            |mended: &&Mended| place_of.get(&index).is_some_and(|place| mended.applies[*place]);
        let own = mended.iter().filter(applies);
        let edits = own.flat_map(|mended| mended.edits.iter().cloned()).collect();
        let mut own = cuts.of.remove(&index).unwrap_or_default();
        own.later = later;
        if later != 0 && rows.episode(index).len() > 1 {
            let id = source.episode_id(index).unwrap_or_default();
            let what = format!("--mend shift-actions: the rows of episode \"{id}\" lie apart");
            return Err(
                AppError::input(what).with_hint("leave it out, or sort the table by episode")
            );
        }
        let parts = Cuts::parts(&own, rows.frames(index));
        if parts.is_empty() {
            left_out.push(LeftOut { index, why: vec!["nothing is left of it".to_owned()] });
        } else {
            kept.push(KeptEpisode { index, parts, edits });
        }
    }
    left_out.sort_by_key(|one| one.index);
    let renumber = request.change.renumber;
    let laid = Plan { source, rows: &rows, places: &places, renumber }.lay(&kept)?;
    let mut changes = cuts.changes;
    changes.extend(mended.iter().map(|mended| recorded(mended, &kept, &place_of)));
    if renumber {
        changes.push(ChangeShape {
            option: "--renumber".to_owned(),
            what: "episodes and frames were numbered from 0".to_owned(),
            figures: Vec::new(),
            episodes: kept.iter().map(|one| of_episode(one.index)).collect(),
        });
    }
    Ok(Chosen { kept, left_out, laid, changes, rows })
}

/// Refuses changes that cannot be made together.
fn together(request: &KeepRequest, mended: &[Mended]) -> Result<(), AppError> {
    let shifts = mended.iter().filter(|mended| mended.later != 0).count();
    if shifts > 1 {
        return Err(
            AppError::input("--mend shift-actions is asked for twice").with_hint("state the sum")
        );
    }
    if shifts > 0 && request.change.drop_doubled {
        let what = "--mend shift-actions and --drop-doubled both change which row follows which";
        return Err(AppError::input(what).with_hint("make two copies, one of the other"));
    }
    let mut options: Vec<&str> = mended.iter().map(|mended| mended.option.as_str()).collect();
    options.sort_unstable();
    let mut pairs = options.windows(2);
    if let Some([twice, _]) = pairs.find(|pair| pair.first() == pair.last()) {
        let what = format!("--mend {twice} is asked for twice");
        return Err(AppError::input(what).with_hint("state it once"));
    }
    Ok(())
}

/// Which episodes stay, and why the others do not.
fn select(
    selector: &Selector,
    audited: &Audited,
    measured: bool,
    repairs: &Repairs,
    rows: &EpisodeRows,
) -> Result<(Vec<LeftOut>, Vec<EpisodeIndex>), AppError> {
    let source = &audited.source;
    let indices: Vec<EpisodeIndex> = rows.indices().collect();
    let ids: Vec<&str> =
        indices.iter().map(|index| source.episode_id(*index).unwrap_or_default()).collect();
    let mut why = selector.by_lists(&ids)?;
    if measured {
        selector.check_tasks(&audited.outcome.cards)?;
        let mut seen = vec![false; indices.len()];
        for place in CardPlace::all(audited.outcome.cards.len()) {
            let at = audited.outcome.cards[place.get()].key.index.get() as usize;
            seen[at] = true;
            let inputs = source.inputs();
            why[at].extend(selector.by_card(&audited.outcome, place, inputs, repairs));
        }
        for (at, _) in seen.iter().enumerate().filter(|(_, seen)| !**seen) {
            why[at].push("could not be read".to_owned());
        }
    }
    let (mut left_out, mut stay) = (Vec::new(), Vec::new());
    for (index, why) in indices.into_iter().zip(why) {
        if why.is_empty() {
            stay.push(index);
        } else {
            left_out.push(LeftOut { index, why });
        }
    }
    Ok((left_out, stay))
}

fn of_episode(index: EpisodeIndex) -> EpisodeChangeShape {
    EpisodeChangeShape { episode: index.to_string(), frames: Vec::new() }
}

/// What is recorded of a repair.
fn recorded(
    mended: &Mended,
    kept: &[KeptEpisode],
    place_of: &HashMap<EpisodeIndex, usize>,
) -> ChangeShape {
    let concerned =
        |one: &&KeptEpisode| place_of.get(&one.index).is_some_and(|place| mended.applies[*place]);
    let what = mended.note.clone().unwrap_or_else(|| "values were changed".to_owned());
    ChangeShape {
        option: format!("--mend {}", mended.option),
        what,
        figures: mended.figures.clone(),
        episodes: kept.iter().filter(concerned).map(|one| of_episode(one.index)).collect(),
    }
}
