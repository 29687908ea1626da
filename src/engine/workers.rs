//! The threads.

use std::collections::BTreeMap;
use std::convert::Infallible;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::mpsc::channel;

use rayon::ThreadPool;

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
#[derive(Debug)]
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

    /// Runs work inside the pool: what it does in parallel uses these threads and no others.
    pub fn run<U: Send>(&self, work: impl FnOnce() -> U + Send) -> U {
        self.0.install(work)
    }

    /// Maps items, keeping their order.
    pub fn map<T: Sync, U: Send>(&self, items: &[T], job: impl Fn(&T) -> U + Sync) -> Vec<U> {
        let mut all = Vec::with_capacity(items.len());
        let Ok(()) = self.in_order(
            items.len(),
            items.len(),
            |at| job(&items[at]),
            |one| {
                all.push(one);
                Ok::<(), Infallible>(())
            },
        );
        all
    }

    /// Runs a job for each of the first `n` numbers and takes what comes of them here, in their order,
    /// while the threads go on. Of what is not yet taken there is never more than `ahead`.
    ///
    /// # Errors
    /// The first of `take`; nothing is begun after it.
    pub fn in_order<U: Send, E>(
        &self,
        n: usize,
        ahead: usize,
        job: impl Fn(usize) -> U + Sync,
        mut take: impl FnMut(U) -> Result<(), E>,
    ) -> Result<(), E> {
        let (send, receive) = channel();
        let job = &job;
        self.0.in_place_scope_fifo(|scope| {
            let begin = |at: usize| {
                let send = send.clone();
                scope.spawn_fifo(move |_| {
                    // Nobody listens any more where taking has failed.
                    let _ = send.send((at, catch_unwind(AssertUnwindSafe(|| job(at)))));
                });
            };
            (0..n.min(ahead.max(1))).for_each(begin);
            let mut early = BTreeMap::new();
            for next in 0..n {
                let made = loop {
                    if let Some(made) = early.remove(&next) {
                        break made;
                    }
                    // One sender is held here, so there is always another one to wait for.
                    if let Ok((at, made)) = receive.recv() {
                        early.insert(at, made.unwrap_or_else(|thrown| resume_unwind(thrown)));
                    }
                };
                take(made)?;
                if next + ahead.max(1) < n {
                    begin(next + ahead.max(1));
                }
            }
            Ok(())
        })
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicUsize, Ordering};

    use super::*;

    #[test]
    fn results_come_in_order_and_never_too_many_are_waiting() -> Result<(), EngineError> {
        for (threads, ahead) in [(1, 1), (2, 3), (3, 100), (2, 0)] {
            let workers = Workers::start(Some(threads))?;
            let (begun, mut taken) = (AtomicUsize::new(0), Vec::new());
            let job = |at: usize| {
                // The later ones are done first.
                std::thread::sleep(std::time::Duration::from_micros(60 - at as u64));
                (at, begun.fetch_add(1, Ordering::SeqCst) + 1)
            };
            let mut ahead_of = 0;
            let done = workers.in_order(50, ahead, job, |(at, begun)| {
                ahead_of = ahead_of.max(begun.saturating_sub(taken.len()));
                taken.push(at);
                Ok::<(), usize>(())
            });
            assert_eq!((done, taken), (Ok(()), (0..50).collect::<Vec<_>>()));
            assert!(ahead_of <= ahead.max(1) + threads, "{ahead_of} of {ahead}");
            let mut last = 0;
            let stopped = workers.in_order(
                50,
                ahead,
                |at| at,
                |at| {
                    last = at;
                    if at == 7 { Err(at) } else { Ok(()) }
                },
            );
            assert_eq!((stopped, last), (Err(7), 7));
            assert_eq!(workers.in_order(0, ahead, |at| at, Err::<(), usize>), Ok(()));
        }
        Ok(())
    }
}
