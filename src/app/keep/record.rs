//! The record of a copy: the document, and the note in the metadata of each file.

use std::collections::{HashMap, HashSet};

use crate::app::keep::frames::Part;
use crate::app::keep::left_alone::Names;
use crate::app::keep::plan::Chosen;
use crate::app::keep::request::KeepRequest;
use crate::app::{AppError, Audited};
use crate::model::{EpisodeIndex, path_text};
use crate::report::keep::{
    ChangeShape, ChangesDocument, CountShape, FileShape, KeptShape, LeftAloneShape, LeftOutShape,
    NoteShape, Written,
};
use crate::report::shape::{Tool, UnreadFile};
use crate::source::Source as _;
use crate::source::copy::{TableCopy, neighbours};

/// The document, and the files with their notes.
pub(super) fn document(
    request: &KeepRequest,
    audited: &Audited,
    chosen: &Chosen,
) -> Result<(ChangesDocument, Vec<TableCopy>), AppError> {
    let source = &audited.source;
    let id = |index: EpisodeIndex| source.episode_id(index).unwrap_or_default().to_owned();
    let path = |input: usize| path_text(&source.inputs()[input].path);
    let changes = named(&chosen.changes, &id);
    let tables = noted(request, audited, chosen, &changes)?;
    let kept = chosen.kept.iter().zip(&chosen.laid.ids).map(|(one, ids)| {
        let parts = one.parts.iter().zip(ids).map(|(part, id)| Written {
            episode: id.clone(),
            frames: part.frames.iter().map(|frames| [frames.start, frames.end]).collect(),
        });
        KeptShape { episode: id(one.index), written: parts.collect() }
    });
    let left_out = chosen.left_out.iter().map(|one| LeftOutShape {
        episode: id(one.index),
        path: chosen.rows.episode(one.index).first().map_or(String::new(), |(at, _)| path(*at)),
        frames: chosen.rows.frames(one.index),
        why: one.why.clone(),
    });
    let files = tables.iter().map(|table| FileShape {
        source: path(table.input),
        path: path_text(&table.to),
        rows: CountShape { of: source.inputs()[table.input].rows, kept: table.rows() },
    });
    let kept_frames = chosen.kept.iter().flat_map(|one| &one.parts).map(Part::len).sum();
    let all_frames = chosen.rows.indices().map(|index| chosen.rows.frames(index)).sum();
    // Without an audit, only what was found unreadable from the start is known.
    let mut unread: Vec<_> = audited.outcome.unread.iter().collect();
    if unread.is_empty() {
        unread = source.unread().iter().collect();
    }
    let unread = unread
        .into_iter()
        .map(|file| UnreadFile { path: path_text(&file.path), reason: file.reason.clone() });
    let document = ChangesDocument {
        schema: ChangesDocument::SCHEMA.to_owned(),
        tool: Tool::this(),
        source: request.data.paths.iter().map(|path| path_text(path)).collect(),
        to: path_text(&request.to),
        options: request.options.clone(),
        dry_run: request.dry_run,
        episodes: CountShape {
            of: chosen.rows.indices().count() as u64,
            kept: chosen.kept.len() as u64,
        },
        frames: CountShape { of: all_frames, kept: kept_frames },
        kept: kept.collect(),
        left_out: left_out.collect(),
        rows_of_no_episode: chosen.rows.of_none,
        files: files.collect(),
        left_alone: left_alone(request, audited, chosen),
        unread: unread.collect(),
        changes,
    };
    Ok((document, tables))
}

/// The changes with the ids of their episodes, where they have places.
fn named(changes: &[ChangeShape], id: &dyn Fn(EpisodeIndex) -> String) -> Vec<ChangeShape> {
    let mut named = changes.to_vec();
    for episode in named.iter_mut().flat_map(|change| &mut change.episodes) {
        if let Ok(index) = episode.episode.parse::<u64>() {
            episode.episode = id(EpisodeIndex::new(index));
        }
    }
    named
}

/// The files, each with a note of what was done to it.
fn noted(
    request: &KeepRequest,
    audited: &Audited,
    chosen: &Chosen,
    changes: &[ChangeShape],
) -> Result<Vec<TableCopy>, AppError> {
    let source = &audited.source;
    let mut episodes_of: HashMap<usize, HashSet<&str>> = HashMap::new();
    for one in &chosen.kept {
        for (input, _) in chosen.rows.episode(one.index) {
            let id = source.episode_id(one.index).unwrap_or_default();
            episodes_of.entry(*input).or_default().insert(id);
        }
    }
    let none = HashSet::new();
    let mut tables = chosen.laid.tables.clone();
    for table in &mut tables {
        let own = episodes_of.get(&table.input).unwrap_or(&none);
        let of_file = |change: &ChangeShape| ChangeShape {
            episodes: change
                .episodes
                .iter()
                .filter(|one| own.contains(one.episode.as_str()))
                .cloned()
                .collect(),
            ..change.clone()
        };
        let input = &source.inputs()[table.input];
        let note = NoteShape {
            schema: ChangesDocument::SCHEMA.to_owned(),
            tool: Tool::this(),
            source: path_text(&input.path),
            rows: CountShape { of: input.rows, kept: table.rows() },
            options: request.options.clone(),
            changes: changes.iter().map(of_file).filter(|c| !c.episodes.is_empty()).collect(),
        };
        let text = serde_json::to_string(&note);
        table.note = text.map_err(|error| AppError::internal(error.to_string()))?;
    }
    Ok(tables)
}

fn left_alone(request: &KeepRequest, audited: &Audited, chosen: &Chosen) -> Vec<LeftAloneShape> {
    let source = &audited.source;
    let ids: Vec<&str> =
        chosen.rows.indices().filter_map(|index| source.episode_id(index)).collect();
    let names = Names::new(&ids);
    let out: HashSet<&str> =
        chosen.left_out.iter().filter_map(|one| source.episode_id(one.index)).collect();
    let files = neighbours(source, &request.data.paths);
    let shown = files.iter().map(|file| {
        let episode = names.of(&file.within);
        LeftAloneShape {
            path: path_text(&file.path),
            episode: episode.map(str::to_owned),
            left_out: episode.is_some_and(|id| out.contains(id)),
        }
    });
    shown.collect()
}
