//! Microphone and loudspeaker.
//!
//! Flow: [`Devices::open`] starts a thread that owns host, devices and streams, for opening and dropping can block. Callbacks
//! convert, write into a ring and tell their frame count with the time; they never allocate, free, lock, log or wait. The
//! hearing thread reads ([`Devices::read`]), plays ([`Devices::play`]) and asks where a clip lies on the microphone's clock
//! ([`Devices::sounding`]), which two [`ClockLine`]s answer. What is lost is opened again by itself; what is wrong is told as
//! [`Fault`]s.
//!
//! Invariant: no state of the drill lives in a stream. A device may vanish and come back; the input clock goes on, and the
//! missing time is told with the first sound after it.

mod calibrate;
mod capture;
mod checks;
mod failing;
mod handle;
mod intake;
mod keeper;
mod late;
mod line;
mod list;
mod measure;
mod monitor;
mod open;
mod outlet;
mod playback;
mod probing;
mod quiet;
mod signs;
mod watch;

pub use calibrate::{Delay, SWEEPS, Unclear, delays, settle, sweeps};
pub use capture::{Block, Capture, Captured, capture, input_callback};
pub use checks::{Checks, Fault};
pub use failing::{Errors, Failure, Side, error_callback, errors};
pub use handle::{Devices, Heard, Sounding, Wanted};
pub use line::ClockLine;
pub use list::{Listed, inner_part, list, wireless};
pub use measure::{Calibration, Pair, Unmeasured, calibrate, pair};
pub use monitor::comes_back_dry;
pub use open::{About, Want};
pub use playback::{Began, Order, Orders, PlayId, Playback, output_callback, playback};
pub use quiet::{Quiet, put_back, put_back_on_panic};
pub use signs::{Clock, Counters, Signs};
pub use watch::{Health, Seen, health};
