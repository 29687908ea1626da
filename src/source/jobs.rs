//! Work that a caller may run on its own threads.

/// Runs jobs `0..n`, each once, in any order, on as many threads as the caller likes, and returns
/// when all are done. This module has no threads of its own: the caller of [`crate::source::Dataset::open`] lends them.
pub type RunJobs<'a> = &'a dyn Fn(usize, &(dyn Fn(usize) + Sync));

/// Runs jobs one after the other, for callers without threads.
#[cfg(any(test, feature = "internals"))]
pub fn one_by_one(jobs: usize, job: &(dyn Fn(usize) + Sync)) {
    (0..jobs).for_each(job);
}
