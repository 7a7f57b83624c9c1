//! A sign of life on a terminal when work takes long.

use std::sync::mpsc::{RecvTimeoutError, channel};
use std::time::Duration;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// Work shorter than this shows nothing.
const PATIENCE: Duration = Duration::from_millis(500);

/// Does the work; on a terminal, a spinner with `what` shows after half a second.
pub fn while_working<T>(what: &'static str, work: impl FnOnce() -> T) -> T {
    let (done, waiting) = channel::<()>();
    std::thread::scope(|scope| {
        scope.spawn(move || {
            if let Err(RecvTimeoutError::Timeout) = waiting.recv_timeout(PATIENCE) {
                let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr())
                    .with_style(ProgressStyle::default_spinner());
                bar.set_message(what);
                bar.enable_steady_tick(Duration::from_millis(100));
                // Until the work is done, which drops the sender.
                let _ = waiting.recv();
                bar.finish_and_clear();
            }
        });
        let result = work();
        drop(done);
        result
    })
}
