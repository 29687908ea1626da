//! Estimators against answers that are not ours. Sources in `fixtures/reference/README.md` and
//! next to each test.

mod comparisons;
mod coverage;
mod delays;
mod distances;
mod lines;
mod motions;
mod oracle;
mod scales;
mod streams;
