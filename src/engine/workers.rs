//! The threads.

use rayon::ThreadPool;
use rayon::prelude::*;

/// Why the engine could not start.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum EngineError {
    /// The operating system gave no threads.
    #[error("cannot start {threads} threads: {source}")]
    Threads {
        /// How many were asked for.
        threads: usize,
        /// What the system said.
        source: rayon::ThreadPoolBuildError,
    },
}

/// A pool of threads.
pub struct Workers(ThreadPool);

impl Workers {
    /// Starts the threads: as many as asked for, else one per core.
    ///
    /// # Errors
    /// If the operating system gives no threads.
    pub fn start(threads: Option<usize>) -> Result<Self, EngineError> {
        let threads = threads.unwrap_or(0);
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        pool.map(Self).map_err(|source| EngineError::Threads { threads, source })
    }

    /// How many threads there are.
    pub fn threads(&self) -> usize {
        self.0.current_num_threads().max(1)
    }

    /// Runs a job for each of the first `n` numbers, in any order.
    pub fn each(&self, n: usize, job: &(dyn Fn(usize) + Sync)) {
        self.0.install(|| (0..n).into_par_iter().for_each(job));
    }

    /// Maps items, keeping their order. Whoever has nothing left to do takes the next one: in
    /// handfuls, as they would be dealt otherwise, one thread ends long before the other.
    pub fn map<T: Sync, U: Send>(&self, items: &[T], job: impl Fn(&T) -> U + Sync) -> Vec<U> {
        self.0.install(|| items.par_iter().with_max_len(1).map(&job).collect())
    }
}
