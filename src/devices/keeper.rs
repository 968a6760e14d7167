//! The thread that owns host, devices and streams.
//!
//! Opening and dropping a stream can block for as long as the sound system hangs, so nobody else does either. What it opens it
//! sends to the hearing thread; what is lost it drops and opens again, with pauses, until it is told to stop.

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering::Relaxed};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender};
use std::time::Duration;

use rtrb::Consumer;

use crate::units::Seconds;

use super::capture::Captured;
use super::failing::{Failure, Side};
use super::handle::Wanted;
use super::open::{About, Opened, Want, Wish, open_input, open_output};
use super::playback::Orders;
use super::probing::Probing;
use super::signs::{Clock, Signs};
use super::watch::{Health, health};

/// How often the streams are looked after.
const ROUND: Duration = Duration::from_millis(40);
/// Pauses between attempts to open: the first, and the longest.
const PAUSE: (Seconds, Seconds) = (Seconds(0.25), Seconds(2.0));

/// What the keeper tells the hearing thread.
pub enum News {
    /// The microphone is open.
    Input(Captured, About, Arc<Signs>),
    /// The loudspeaker is open.
    Output(Orders, About, Arc<Signs>),
    /// A stream was lost and dropped.
    Lost(Side),
    /// Opening failed; it will be tried again.
    Failed(Side, Failure),
}

/// Asks the keeper to close every stream and to open it anew.
#[derive(Debug)]
pub struct Anew;

/// When the keeper entered a call that may block, in nanoseconds of the clock; 0 when it is in none.
pub type BusySince = Arc<AtomicU64>;

/// One side's stream and what is known of its future.
struct Post {
    side: Side,
    want: Want,
    wish: Wish,
    open: Option<(cpal::Stream, Arc<Signs>, Consumer<cpal::Error>)>,
    next_try: Seconds,
    pause: Seconds,
    told: Option<Failure>,
    probing: Probing,
}

/// Looks after both sides until the other end of `asked` is dropped.
pub fn keep(wanted: &Wanted, clock: Clock, news: &Sender<News>, busy: &BusySince, asked: &Receiver<Anew>) {
    busy.store(clock.nanos(), Relaxed);
    let host = cpal::default_host();
    let mut posts: Vec<Post> = [(Side::Input, &wanted.input), (Side::Output, &wanted.output)]
        .into_iter()
        .filter(|(_, want)| **want != Want::Nothing)
        .map(|(side, want)| Post {
            side,
            want: want.clone(),
            wish: Wish { period: wanted.period, rate: None },
            open: None,
            next_try: Seconds(0.0),
            pause: PAUSE.0,
            told: None,
            probing: Probing::default(),
        })
        .collect();
    loop {
        for post in &mut posts {
            busy.store(clock.nanos(), Relaxed);
            post.look(&host, clock, news);
        }
        busy.store(0, Relaxed);
        match asked.recv_timeout(ROUND) {
            Err(RecvTimeoutError::Timeout) => {}
            Ok(Anew) => posts.iter_mut().for_each(|post| post.close(news)),
            Err(RecvTimeoutError::Disconnected) => return,
        }
    }
}

impl Post {
    fn look(&mut self, host: &cpal::Host, clock: Clock, news: &Sender<News>) {
        let Some((_, signs, waste)) = &mut self.open else {
            if clock.now() >= self.next_try {
                self.try_open(host, clock, news);
            }
            return;
        };
        while waste.pop().is_ok() {}
        match health(clock.now(), signs.seen()) {
            Health::Opening => {}
            // Only a stream that lives ends the growing of the pauses.
            Health::Well => {
                self.pause = PAUSE.0;
                self.probe(host, clock, news);
            }
            Health::Lost => {
                self.close(news);
                self.wait(clock);
            }
        }
    }

    /// Drops the stream, which may block; it is opened again when its time has come.
    fn close(&mut self, news: &Sender<News>) {
        self.open = None;
        self.probing.leave();
        // The hearing thread may be gone already: then nobody needs the news.
        let _ = news.send(News::Lost(self.side));
    }

    /// A microphone that gives exact zeros may be none any more: when one is pulled out, a sound server moves its stream to what
    /// is left, such as the loudspeaker's monitor. So the wished-for one is opened beside it again and again, and takes its place
    /// as soon as it sounds. One that is only muted, or gated between notes, is never interrupted.
    fn probe(&mut self, host: &cpal::Host, clock: Clock, news: &Sender<News>) {
        let Some((_, signs, _)) = self.open.as_ref().filter(|_| self.side == Side::Input) else { return };
        let (want, wish) = (&self.want, self.wish);
        let open = || open_input(host, want, wish, clock).ok();
        if let Some(opened) = self.probing.look(clock.now(), signs.still_since(), open) {
            let mut opened = opened;
            // What it heard beside the other was heard once.
            while opened.end.take(|_| {}).is_some() {}
            let _ = news.send(self.keep_open(opened, News::Input));
        }
    }

    fn wait(&mut self, clock: Clock) {
        self.next_try = clock.now() + self.pause;
        self.pause = (self.pause * 2.0).min(PAUSE.1);
    }

    fn try_open(&mut self, host: &cpal::Host, clock: Clock, news: &Sender<News>) {
        let tried = match self.side {
            Side::Input => {
                open_input(host, &self.want, self.wish, clock).map(|opened| self.keep_open(opened, News::Input))
            }
            Side::Output => {
                open_output(host, &self.want, self.wish, clock).map(|opened| self.keep_open(opened, News::Output))
            }
        };
        match tried {
            Ok(opened) => {
                self.told = None;
                let _ = news.send(opened);
            }
            Err(failure) => {
                self.wait(clock);
                // The same sentence is told once, however often it is tried.
                if self.told.as_ref() != Some(&failure) {
                    self.told = Some(failure.clone());
                    let _ = news.send(News::Failed(self.side, failure));
                }
            }
        }
    }

    fn keep_open<End>(&mut self, opened: Opened<End>, tell: impl Fn(End, About, Arc<Signs>) -> News) -> News {
        self.wish.rate = Some(opened.about.rate.hz());
        self.open = Some((opened.stream, Arc::clone(&opened.signs), opened.waste));
        tell(opened.end, opened.about, opened.signs)
    }
}
