//! Which row groups a copy has: those that are wanted whole and unchanged as they are, the others
//! as large as in the input.

use std::ops::Range;

use crate::source::copy::table::Piece;

/// Some rows of a piece, by its place in the list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Part {
    pub piece: usize,
    pub rows: Range<u64>,
}

/// A row group of the copy.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Group {
    /// As it is stored.
    Whole(usize),
    /// Written again.
    Parts(Vec<Part>),
}

/// Plans the row groups; `starts` are the first rows of those of the input, and the number of all
/// rows.
pub(super) fn groups(starts: &[u64], pieces: &[Piece]) -> Vec<Group> {
    let sizes = starts.windows(2).map(|pair| pair[1] - pair[0]);
    let most = sizes.max().unwrap_or(0).max(1);
    let mut planned = Vec::new();
    let (mut open, mut held) = (Vec::new(), 0);
    let mut first = 0;
    for (group, pair) in starts.windows(2).enumerate() {
        let (start, end) = (pair[0], pair[1]);
        while pieces.get(first).is_some_and(|piece| piece.rows.end <= start) {
            first += 1;
        }
        let inside = pieces.iter().enumerate().skip(first);
        let inside = inside.take_while(|(_, piece)| piece.rows.start < end);
        let parts: Vec<Part> = inside
            .map(|(piece, kept)| Part {
                piece,
                rows: kept.rows.start.max(start)..kept.rows.end.min(end),
            })
            .filter(|part| !part.rows.is_empty())
            .collect();
        let rows: u64 = parts.iter().map(|part| part.rows.end - part.rows.start).sum();
        let unchanged = parts.iter().all(|part| pieces[part.piece].edits.is_empty());
        if rows == end - start && rows > 0 && unchanged {
            flush(&mut open, &mut held, &mut planned);
            planned.push(Group::Whole(group));
            continue;
        }
        for mut part in parts {
            while held + (part.rows.end - part.rows.start) > most {
                let middle = part.rows.start + (most - held);
                if middle > part.rows.start {
                    open.push(Part { piece: part.piece, rows: part.rows.start..middle });
                }
                part.rows.start = middle;
                flush(&mut open, &mut held, &mut planned);
            }
            held += part.rows.end - part.rows.start;
            open.push(part);
        }
    }
    flush(&mut open, &mut held, &mut planned);
    planned
}

fn flush(open: &mut Vec<Part>, held: &mut u64, planned: &mut Vec<Group>) {
    if !open.is_empty() {
        planned.push(Group::Parts(std::mem::take(open)));
    }
    *held = 0;
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::copy::edit::{Edit, NewId};

    fn part(piece: usize, start: u64, end: u64) -> Part {
        Part { piece, rows: start..end }
    }

    #[test]
    fn whole_groups_stay_and_others_are_filled_to_the_size_of_the_input() {
        let starts = [0, 10, 20, 30, 40];
        let pieces = [0..12, 14..19, 20..34, 36..40].map(Piece::unchanged);
        let planned = groups(&starts, &pieces);
        assert_eq!(
            planned,
            [
                Group::Whole(0),
                Group::Parts(vec![part(0, 10, 12), part(1, 14, 19)]),
                Group::Whole(2),
                Group::Parts(vec![part(2, 30, 34), part(3, 36, 40)]),
            ]
        );
    }

    #[test]
    fn a_changed_group_is_written_again_and_none_is_larger_than_before() {
        let starts = [0, 10, 20];
        let id = Edit::Id { path: vec!["run".to_owned()], id: NewId::Number(3) };
        let pieces = [Piece { rows: 0..10, edits: vec![id] }, Piece::unchanged(13..20)];
        let planned = groups(&starts, &pieces);
        assert_eq!(
            planned,
            [Group::Parts(vec![part(0, 0, 10)]), Group::Parts(vec![part(1, 13, 20)])]
        );
        let pieces = [4..6, 7..18].map(Piece::unchanged);
        let planned = groups(&starts, &pieces);
        let first = vec![part(0, 4, 6), part(1, 7, 10), part(1, 10, 15)];
        assert_eq!(planned, [Group::Parts(first), Group::Parts(vec![part(1, 15, 18)])]);
        assert_eq!(groups(&starts, &[]), []);
    }
}
