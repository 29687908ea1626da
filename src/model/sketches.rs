//! The sketches of a session in dense rows: no allocation per episode.

use super::sketch::{LEADER_POSES, Moments, Motion, POSES};

/// One row per episode, all of the same joints.
#[derive(Debug, Clone, Default)]
pub(super) struct Sketches {
    joints: usize,
    /// Moments and levels to a row.
    widths: (usize, usize),
    content: Vec<u64>,
    moments: Vec<Moments>,
    levels: Vec<u16>,
    /// Rows that have no sketch, ascending.
    without: Vec<u32>,
}

impl Sketches {
    /// Adds the next row. One of other joints than the first has no place here: two rigs are two
    /// datasets.
    pub fn push(&mut self, sketch: Option<Motion<'_>>) {
        let row = self.content.len();
        let fits = |m: &Motion<'_>| (m.moments.len(), m.levels.len()) == self.widths;
        let first = self.without.len() == row;
        match sketch {
            Some(motion) if first => {
                self.joints = motion.joints;
                self.widths = (motion.moments.len(), motion.levels.len());
                self.blank(row);
                self.put(motion);
            }
            Some(motion) if fits(&motion) => self.put(motion),
            _ => {
                self.without.push(row as u32);
                self.content.push(0);
                self.blank(1);
            }
        }
    }

    /// Adds the rows of another.
    pub fn append(&mut self, other: &Self) {
        reserve(&mut self.content, other.content.len());
        reserve(&mut self.moments, other.moments.len());
        reserve(&mut self.levels, other.levels.len());
        for row in 0..other.content.len() {
            self.push(other.get(row));
        }
    }

    /// The row's sketch.
    pub fn get(&self, row: usize) -> Option<Motion<'_>> {
        if row >= self.content.len() || self.without.binary_search(&(row as u32)).is_ok() {
            return None;
        }
        let (moments, levels) = self.widths;
        Some(Motion {
            content: self.content[row],
            joints: self.joints,
            moments: &self.moments[row * moments..(row + 1) * moments],
            levels: &self.levels[row * levels..(row + 1) * levels],
        })
    }

    /// The same of some of the joints.
    pub fn part(&self, joints: &[usize]) -> Self {
        let mut part = Self::default();
        let sides = if self.widths.0 > self.joints { 2 } else { 1 };
        for row in 0..self.content.len() {
            let Some(whole) = self.get(row) else {
                part.push(None);
                continue;
            };
            let dimensions = (0..sides).flat_map(|side| joints.iter().map(move |j| (side, *j)));
            let moments: Vec<Moments> = dimensions
                .clone()
                .filter_map(|(side, joint)| whole.moments.get(side * self.joints + joint))
                .copied()
                .collect();
            let levels: Vec<u16> = dimensions
                .flat_map(|(side, joint)| {
                    let (from, poses) = match side {
                        0 => (joint * POSES, POSES),
                        _ => (self.joints * POSES + joint * LEADER_POSES, LEADER_POSES),
                    };
                    whole.levels.get(from..from + poses).unwrap_or_default()
                })
                .copied()
                .collect();
            let content = whole.content;
            let motion =
                Motion { content, joints: joints.len(), moments: &moments, levels: &levels };
            part.push(Some(motion));
        }
        part
    }

    /// Bytes held.
    #[cfg(any(test, feature = "internals"))]
    pub fn size(&self) -> usize {
        8 * self.content.capacity()
            + size_of::<Moments>() * self.moments.capacity()
            + 2 * self.levels.capacity()
    }

    fn put(&mut self, motion: Motion<'_>) {
        self.content.push(motion.content);
        self.moments.extend_from_slice(motion.moments);
        self.levels.extend_from_slice(motion.levels);
    }

    /// Room for rows without a sketch, so that the others stay where their row says.
    fn blank(&mut self, rows: usize) {
        let nan = f32::NAN;
        let none = Moments { mean: nan, std: nan, min: nan, max: nan };
        self.moments.resize(self.moments.len() + rows * self.widths.0, none);
        self.levels.resize(self.levels.len() + rows * self.widths.1, u16::MAX);
    }
}

/// Grows by an eighth: a list that doubles would hold nearly twice what is in it.
fn reserve<T>(list: &mut Vec<T>, more: usize) {
    if list.capacity() - list.len() < more {
        list.reserve_exact(more + list.len() / 8);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::sketch::{LEADER_POSES, POSES, Sketch};

    fn sketch(content: u64, joints: usize) -> Option<Sketch> {
        let moments = Moments { mean: 0.5, std: 0.1, min: 0.0, max: 1.0 };
        let levels = vec![content as u16; joints * (POSES + LEADER_POSES)];
        Sketch::from_parts(content, joints, vec![moments; 2 * joints], levels)
    }

    #[test]
    fn a_part_holds_the_chosen_joints_of_both_sides() {
        let moments = |mean| Moments { mean, std: 0.1, min: 0.0, max: 1.0 };
        let mean = [0.0, 1.0, 2.0, 10.0, 11.0, 12.0];
        let followers = (0..3).flat_map(|joint| vec![joint; POSES]);
        let leaders = (0..3).flat_map(|joint| vec![10 + joint; LEADER_POSES]);
        let levels = followers.chain(leaders).collect();
        let sketch = Sketch::from_parts(7, 3, mean.map(moments).to_vec(), levels);
        let mut all = Sketches::default();
        for one in [None, sketch] {
            all.push(one.as_ref().map(Sketch::motion));
        }
        let part = all.part(&[2, 0]);
        assert!(part.get(0).is_none());
        let means = |m: Motion<'_>| m.moments.iter().map(|m| m.mean).collect::<Vec<_>>();
        assert_eq!(part.get(1).map(means), Some(vec![2.0, 0.0, 12.0, 10.0]));
        let ends = |m: Motion<'_>| [m.levels[0], m.levels[POSES], m.levels[2 * POSES]];
        assert_eq!(part.get(1).map(ends), Some([2, 0, 12]));
    }

    #[test]
    fn rows_keep_their_places_around_those_without() {
        let mut all = Sketches::default();
        for one in [None, None, sketch(7, 2), None, sketch(8, 2), sketch(9, 3)] {
            all.push(one.as_ref().map(Sketch::motion));
        }
        let mut twice = Sketches::default();
        twice.append(&all);
        twice.append(&all);
        let content: Vec<u64> =
            (0..13).map(|row| twice.get(row).map_or(0, |m| m.content)).collect();
        assert_eq!(content, [0, 0, 7, 0, 8, 0, 0, 0, 7, 0, 8, 0, 0]);
        assert!(twice.get(4).is_some_and(|m| m.levels.iter().all(|l| *l == 8) && m.has_leader()));
        assert_eq!(twice.get(8), all.get(2));
        assert!(all.size() > 6 * 2 * (POSES + LEADER_POSES) * 2);
    }
}
