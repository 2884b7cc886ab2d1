//! Work for two threads.

use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// `work` for every number below `count`, in order.
///
/// # Panics
/// If a thread does.
pub(crate) fn in_two_threads<T: Send>(count: usize, work: impl Fn(usize) -> T + Sync) -> Vec<T> {
    let next = AtomicUsize::new(0);
    let results: Mutex<Vec<Option<T>>> = Mutex::new((0..count).map(|_| None).collect());
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                loop {
                    let number = next.fetch_add(1, Ordering::Relaxed);
                    if number >= count {
                        return;
                    }
                    let result = work(number);
                    results.lock().expect("no thread panics with it")[number] = Some(result);
                }
            });
        }
    });
    let results = results.into_inner().expect("no thread panics with it");
    results.into_iter().map(|result| result.expect("each was worked on")).collect()
}
