use super::analysis_frame::Candidate;
use super::pick::{Octave, pick};
use super::rules::Rules;
use crate::units::Decibels;

/// Frames over which soft odd partials are watched: 32 ms at 2.9 ms a frame.
const SPAN: usize = 11;

/// Frames after which an absent pitch is forgotten: a fifth of a second.
const FORGOTTEN: usize = 64;
/// Shortest period that is asked about, in heard samples: the curve of a shorter one is too sharp between two lags for its rest to
/// be measured.
const LEAST_PERIOD: f64 = 40.0;

/// Watches soft odd partials, by which two pitches an octave apart are told apart. Where they stay, the lower pitch is the note: a
/// string or a voice may sound its second partial 20 dB over its first. Where they fade, the upper pitch is the note: a reed speaks
/// an octave low for a moment only.
#[derive(Debug, Clone, Default)]
pub(super) struct OddPartials {
    /// The upper pitch of the pair of octaves that is in question, half steps above A4 = 440 Hz: that of the even partials.
    semitone: f64,
    /// Number of frames in a row in which this pair was in question.
    frames: usize,
    /// Whether the odd partials are fading.
    fades: bool,
    /// The upper pitch that was hardly there while its lower octave sounded, half steps above A4 = 440 Hz; `None` once that is
    /// forgotten.
    absent: Option<f64>,
    /// Number of frames since `absent` was hardly there.
    since_absent: usize,
    /// Level of the odd partials against the whole tone in the newest frames, dB, a ring.
    levels_db: [f64; SPAN],
}

impl OddPartials {
    /// Takes the candidates of the newest frame, shortest period first. Says which of two octaves is the note once the odd partials
    /// were watched for more than `SPAN` frames; `None` where they say nothing. `sounding` is the pitch of the open note. `clarity`
    /// measures a period over a window, both in heard samples, on all that is heard, because two candidates may come from different
    /// bands.
    pub(super) fn take(
        &mut self,
        candidates: &[Candidate],
        sounding: Option<f64>,
        clarity: impl Fn(f64, usize) -> f64,
        rules: &Rules,
    ) -> Option<Octave> {
        self.notice_absence(candidates, rules);
        let Some(short) = self.pair(candidates, sounding, clarity, rules) else {
            (self.frames, self.fades) = (0, false);
            return None;
        };
        if (short.semitone - self.semitone).abs() > 0.5 {
            (self.frames, self.fades) = (0, false);
        }
        self.semitone = short.semitone;
        let now = Decibels::of_power(1.0 - short.clarity).0;
        let slot = self.frames % SPAN;
        let before = std::mem::replace(&mut self.levels_db[slot], now);
        self.frames += 1;
        if self.frames <= SPAN {
            return None;
        }
        let gone = now <= before - rules.odd_gone && short.clarity >= rules.odd_short;
        if self.fades || gone {
            self.fades = now < before;
            return self.fades.then_some(Octave::Right(self.semitone));
        }
        // A reed that speaks an octave low keeps a trace of that octave: so a pitch that came over its sounding lower octave is the
        // note, and is never too high.
        (!self.came(self.semitone) && now >= before - rules.odd_fade).then_some(Octave::TooHigh(self.semitone))
    }

    /// Remembers a pitch that is hardly there while the octave below it sounds.
    fn notice_absence(&mut self, candidates: &[Candidate], rules: &Rules) {
        self.since_absent += 1;
        self.absent = self.absent.filter(|_| self.since_absent < FORGOTTEN);
        let Some(low) = pick(candidates, None, None, rules).filter(|low| low.clarity >= rules.open_clarity) else {
            return;
        };
        if self.came(low.semitone) {
            return;
        }
        let upper = low.semitone + 12.0;
        let above = candidates.iter().find(|c| (c.semitone - upper).abs() < 0.6).map_or(0.0, |c| c.clarity);
        if above < rules.octave_absent * low.clarity {
            (self.absent, self.since_absent) = (Some(upper), 0);
        }
    }

    /// Whether this pitch was hardly there a short time ago, while the octave below it sounded.
    fn came(&self, semitone: f64) -> bool {
        self.absent.is_some_and(|absent| (absent - semitone).abs() < 0.5)
    }

    /// The candidate at the upper pitch of the pair of octaves that is in question, its clarity measured over the window of the
    /// lower one; `None` where no pair is in question.
    fn pair(
        &self,
        candidates: &[Candidate],
        sounding: Option<f64>,
        clarity: impl Fn(f64, usize) -> f64,
        rules: &Rules,
    ) -> Option<Candidate> {
        let at = |pitch: f64| candidates.iter().find(|c| (c.semitone - pitch).abs() < 0.6).copied();
        let plain = pick(candidates, None, None, rules);
        let above = plain.and_then(|plain| at(plain.semitone + 12.0));
        let shorts = [sounding.and_then(at), sounding.and_then(|it| at(it + 12.0)), plain, above];
        shorts.into_iter().flatten().filter(|short| short.period >= LEAST_PERIOD).find_map(|short| {
            let long = candidates.iter().find(|long| lacks(&short, long, rules))?;
            let whole = |period: f64| clarity(period, long.window);
            let (short, long) = (
                Candidate { clarity: whole(short.period), ..short },
                Candidate { clarity: whole(long.period), ..*long },
            );
            lacks(&short, &long, rules).then_some(short)
        })
    }
}

/// Whether the short period leaves a rest of the energy that the double period does not leave: the odd partials of the lower
/// octave, softer than the even ones. Noise and a changing level leave as much to the one as to the other.
fn lacks(short: &Candidate, long: &Candidate, rules: &Rules) -> bool {
    let octave = (long.period - 2.0 * short.period).abs() < 0.02 * long.period;
    let rest = 1.0 - short.clarity;
    octave
        && long.clarity >= rules.odd_clarity
        && rest >= rules.odd_least
        && rest >= rules.odd_rest * (1.0 - long.clarity)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A tone at `semitone`, which leaves `rest` of the energy, and its octave below, which leaves as little as noise does.
    fn tone(semitone: f64, rest: f64) -> [Candidate; 2] {
        let at = |semitone: f64, clarity: f64| {
            let period = 100.0 / (semitone / 12.0).exp2();
            Candidate { semitone, period, clarity, window: 384 }
        };
        [at(semitone, 1.0 - rest), at(semitone - 12.0, 0.999)]
    }

    fn said(frames: usize, rest: impl Fn(usize) -> f64) -> Option<Octave> {
        let mut odd = OddPartials::default();
        let mut last = None;
        for frame in 0..frames {
            let heard = tone(0.0, rest(frame));
            let clarity =
                |period: f64, _| heard.iter().find(|c| (c.period - period).abs() < 1.0).map_or(0.0, |c| c.clarity);
            last = odd.take(&heard, Some(0.0), clarity, &Rules::default());
        }
        last
    }

    #[test]
    fn a_soft_fundamental_that_stays_makes_the_lower_octave_the_note() {
        assert_eq!(said(SPAN, |_| 0.06), None, "too early to say");
        assert_eq!(said(SPAN + 1, |_| 0.06), Some(Octave::TooHigh(0.0)));
    }

    #[test]
    fn a_reed_that_speaks_an_octave_low_for_a_moment_is_the_upper_octave() {
        // The odd partials fall by 100 dB a second, 2.9 ms a frame.
        let fading = |frame: usize| 0.2 * 10f64.powf(-0.029 * frame as f64);
        assert_eq!(said(SPAN + 4, fading), Some(Octave::Right(0.0)));
    }

    #[test]
    fn a_trace_of_the_octave_below_says_nothing() {
        assert_eq!(said(3 * SPAN, |_| 0.003), None);
    }
}
