//! What the actions are, in relation to the state: declared, or recognised in a few episodes.

mod answer;
mod borders;
mod next;
mod samples;
mod take;
mod updates;
mod votes;

#[cfg(test)]
mod made;
#[cfg(test)]
mod tests;

pub(in crate::source) use samples::actions;
