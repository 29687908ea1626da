//! Moments of other episodes to hold a command against, and which of them are near.

use super::commands::Commands;
use crate::model::LEADER_POSES;
use crate::num::moments::mean_std;

/// Neighbours of a moment.
const NEAREST: usize = 5;
/// Mean square distance, in variances, beyond which a moment is no neighbour.
const NEAR: f32 = 1.0;
/// A position (rad, m) or speed (rad/s, m/s) has no smaller standard deviation: that of an unused
/// joint would make much of its noise.
const LEAST_STATE: f64 = 0.01;
/// Nor has a command: about one count of a 12-bit sensor.
const LEAST_COMMAND: f64 = 0.002;

/// Moments to be compared with, in standard deviations, one column to a dimension.
pub(super) struct Neighbours {
    /// Episode of each moment, by its place among the commands.
    episodes: Vec<usize>,
    states: Vec<Vec<f32>>,
    commands: Vec<Vec<f32>>,
    /// One over the standard deviation of each dimension, states first.
    scales: Vec<f32>,
}

/// Room to work in, so that none is asked for at each moment.
pub(super) struct Room {
    own: Vec<f32>,
    squares: Vec<f32>,
}

impl Neighbours {
    /// All moments of these episodes; `None` if nothing is commanded in any, or none was read.
    pub fn of(all: &Commands<'_>, chosen: &[usize]) -> Option<Self> {
        let joints = all.joints.len();
        let mut episodes = Vec::new();
        let mut columns: Vec<Vec<f32>> = vec![Vec::new(); 3 * joints];
        let mut own = Vec::new();
        for &episode in chosen {
            for moment in 0..LEADER_POSES {
                if all.at(episode, moment, &mut own).is_some() {
                    episodes.push(episode);
                    columns.iter_mut().zip(&own).for_each(|(column, value)| column.push(*value));
                }
            }
        }
        let deviations: Vec<f64> = columns.iter().map(|column| deviation(column)).collect();
        let (of_states, of_commands) = deviations.split_at(2 * joints);
        if !of_commands.iter().any(|deviation| *deviation > LEAST_COMMAND) {
            return None;
        }
        let scale = |least: f64| move |deviation: &f64| (1.0 / deviation.max(least)) as f32;
        let mut scales: Vec<f32> = of_states.iter().map(scale(LEAST_STATE)).collect();
        scales.extend(of_commands.iter().map(scale(LEAST_COMMAND)));
        for (column, scale) in columns.iter_mut().zip(&scales) {
            for value in column.iter_mut() {
                *value *= scale;
            }
        }
        let commands = columns.split_off(2 * joints);
        Some(Self { episodes, states: columns, commands, scales })
    }

    /// Room to work in.
    pub fn room(&self) -> Room {
        Room { own: Vec::new(), squares: vec![0.0; self.episodes.len()] }
    }

    /// Mean square difference of a moment's command, over joints and nearest moments of other
    /// episodes; `None` if it was not read or too few are near.
    pub fn difference(
        &self,
        all: &Commands<'_>,
        episode: usize,
        moment: usize,
        room: &mut Room,
    ) -> Option<f64> {
        all.at(episode, moment, &mut room.own)?;
        for (value, scale) in room.own.iter_mut().zip(&self.scales) {
            *value *= scale;
        }
        let (own_state, own_command) = room.own.split_at(self.states.len());
        room.squares.fill(0.0);
        for (column, own) in self.states.iter().zip(own_state) {
            for (square, value) in room.squares.iter_mut().zip(column) {
                *square += (value - own) * (value - own);
            }
        }
        let near = self.nearest(episode, &room.squares)?;
        let mut sum = 0.0;
        for (column, own) in self.commands.iter().zip(own_command) {
            sum += near.iter().map(|(_, at)| f64::from(column[*at] - own).powi(2)).sum::<f64>();
        }
        Some(sum / (NEAREST * self.commands.len()) as f64)
    }

    /// The nearest moments of other episodes, by squared distances; `None` if they are not near.
    fn nearest(&self, episode: usize, squares: &[f32]) -> Option<[(f32, usize); NEAREST]> {
        let mut near = [(NEAR * self.states.len() as f32, usize::MAX); NEAREST];
        for (at, square) in squares.iter().enumerate() {
            if *square >= near[NEAREST - 1].0 || self.episodes[at] == episode {
                continue;
            }
            let place = near.partition_point(|n| n.0 <= *square);
            near[place..].rotate_right(1);
            near[place] = (*square, at);
        }
        (near[NEAREST - 1].1 != usize::MAX).then_some(near)
    }
}

fn deviation(values: &[f32]) -> f64 {
    let (_, deviation) = mean_std(&values.iter().map(|v| f64::from(*v)).collect::<Vec<_>>());
    if deviation.is_finite() { deviation } else { 0.0 }
}
