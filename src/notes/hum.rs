use super::phasor::{HumHarmonics, Phasor};
use super::time_base::TimeBase;

/// Frequencies of mains, hertz.
pub(super) const MAINS_HZ: [f64; 2] = [50.0, 60.0];
/// Mains and the clocks of sound devices keep their frequency within this, hertz.
const DRIFT_HZ: f64 = 0.25;
/// Length of a stretch over which hum is measured, ms: whole periods of 50 and of 60 Hz.
const STRETCH_MS: f64 = 100.0;
/// Time from the beginning of a clear note until it is open, ms; a rough note takes longer. A stretch is taken to hold no note once
/// this time has passed.
const OPEN_MS: f64 = 23.0;
/// Number of stretches over which frequency and partials are averaged: two seconds of measured sound.
const MEMORY: f32 = 20.0;
/// Hum softer than this is left in, mean square (-75 dB): so soft a hum hides no note.
const LEAST: f64 = 3e-8;
/// Hum is taken out where it has at least this share of the power of the quiet; with less, taking it out wins nothing.
const SHARE: f64 = 0.5;
/// Least likeness, 0 to 1, of two stretches with the same hum.
const ALIKE: f64 = 0.95;
/// Share of the drift between the first two stretches that is believed, because two measurements are few.
const TRUST: f64 = 0.7;
/// Number of stretches in a row, unlike the known hum, after which the hum is another.
const STRANGE: usize = 5;
/// Time over which the subtraction fades in, ms, so that its beginning does not click.
const FADE_MS: f64 = 12.0;
/// Time in which the high-pass at the beginning of the stream comes to rest, ms.
const REST_MS: f64 = 30.0;

/// One mains frequency, its phase, and the hum that the stretch so far shows at its multiples.
#[derive(Debug, Clone)]
struct Mains {
    /// 50 or 60 Hz.
    nominal_hz: f64,
    /// The frequency as it was measured, hertz.
    hz: f64,
    /// Phase at the first sample of the hop, in turns.
    turns: f64,
    /// Harmonics of the stretch so far, not yet divided by its length.
    sums: HumHarmonics,
    /// Harmonics of the stretch before; `None` where a note lay between.
    before: Option<HumHarmonics>,
}

impl Mains {
    const fn new(hz: f64) -> Self {
        Self { nominal_hz: hz, hz, turns: 0.0, sums: HumHarmonics::NONE, before: None }
    }

    /// Measures the samples of a hop, which come at `rate_hz`.
    fn measure(&mut self, samples: impl Iterator<Item = f32>, rate_hz: f64) {
        let (mut turn, step) = (Phasor::new(self.turns), Phasor::new(self.hz / rate_hz));
        for sample in samples {
            self.sums.add(sample, &turn);
            turn.add(&step);
        }
    }

    /// The partials of the stretch so far, of which `count` samples were measured.
    fn partials(&self, count: usize) -> HumHarmonics {
        HumHarmonics::NONE.plus(2.0 / count as f32, &self.sums)
    }
}

/// Mains hum, learnt while nobody plays and taken out of the stream sample by sample.
///
/// Only what keeps to the multiples of a mains frequency, alike from stretch to stretch, is hum. It goes on at its own frequency
/// while notes sound, so that a note near 50 or 60 Hz loses nothing: this is the canceller of Widrow and others ("Adaptive noise
/// cancelling", 1975), which learns nothing while there is a signal.
#[derive(Debug, Clone)]
pub(super) struct Hum {
    /// Heard samples a second.
    rate_hz: f64,
    /// Heard samples of a hop.
    hop: usize,
    /// Hum is measured on every `stride`th sample: it has nothing above 720 Hz.
    stride: usize,
    /// The two mains frequencies, 50 and 60 Hz.
    mains: [Mains; 2],
    /// Index of the mains in `mains`, and the harmonics of the hum; `None` while no hum is known.
    known: Option<(usize, HumHarmonics)>,
    /// Phase of the hum at the next sample.
    now: Phasor,
    /// Phase by which the hum moves on from sample to sample.
    step: Phasor,
    /// Share of the hum that is taken out, 0 to 1.
    gain: f32,
    /// Growth of `gain` from sample to sample.
    fade: f32,
    /// Hops since the stretch began.
    hops: usize,
    /// Hops until a stretch may be learnt.
    patience: usize,
    /// Samples measured in the stretch.
    count: usize,
    /// Samples that are measured in a whole stretch.
    wanted: usize,
    /// Energy of the samples measured in the stretch, the hum taken out.
    energy: f64,
    /// Energy of all samples of the stretch, the hum still in.
    with_hum: f64,
    /// Number of stretches learnt, at most `MEMORY`.
    learnt: f32,
    /// Hops since the last stretch that was learnt.
    since: usize,
    /// Number of stretches in a row that were unlike the known hum.
    strange: usize,
    /// Hops to wait before the next stretch.
    rest: usize,
}

impl Hum {
    /// No hum is known yet.
    pub(super) fn new(time: &TimeBase) -> Self {
        Self {
            rate_hz: time.heard_hz,
            hop: time.hop,
            stride: time.middle,
            mains: MAINS_HZ.map(Mains::new),
            known: None,
            now: Phasor::new(0.0),
            step: Phasor::new(0.0),
            gain: 0.0,
            fade: 1.0 / time.ms(FADE_MS) as f32,
            hops: 0,
            patience: time.hops(STRETCH_MS) + time.hops(OPEN_MS),
            count: 0,
            wanted: time.ms(STRETCH_MS) as usize / time.middle,
            energy: 0.0,
            with_hum: 0.0,
            learnt: 0.0,
            since: 0,
            strange: 0,
            rest: time.hops(REST_MS),
        }
    }

    /// Mean square of the hum that is taken out.
    pub(super) fn power(&self) -> f64 {
        self.known.map_or(0.0, |(_, partials)| partials.power())
    }

    /// Takes the hum out of the next samples.
    pub(super) fn take_out(&mut self, samples: &mut [f32]) {
        let Some((_, partials)) = &self.known else { return };
        for sample in samples {
            self.with_hum += f64::from(*sample).powi(2);
            self.gain = (self.gain + self.fade).min(1.0);
            let hum = partials.at(&self.now);
            self.now.add(&self.step);
            *sample -= self.gain * hum;
        }
    }

    /// Takes in a complete hop, whose samples were passed on as `samples`. True when the room has to be learnt anew: hum was found,
    /// or the hum that was taken out is no longer there.
    pub(super) fn hear(&mut self, samples: &[f32], quiet: bool) -> bool {
        self.since += 1;
        self.rest = self.rest.saturating_sub(1);
        let mut another = false;
        if !quiet || self.rest > 0 {
            self.begin_stretch();
            self.mains.iter_mut().for_each(|mains| mains.before = None);
            self.strange = 0;
        } else if self.measure(samples) {
            another = self.learn();
            self.begin_stretch();
        }
        for mains in &mut self.mains {
            mains.turns = (mains.turns + mains.hz * self.hop as f64 / self.rate_hz).fract();
        }
        if let Some((which, _)) = self.known {
            let mains = &self.mains[which];
            (self.now, self.step) = (Phasor::new(mains.turns), Phasor::new(mains.hz / self.rate_hz));
        }
        another
    }

    fn begin_stretch(&mut self) {
        (self.hops, self.count, self.energy, self.with_hum) = (0, 0, 0.0, 0.0);
        self.mains.iter_mut().for_each(|mains| mains.sums = HumHarmonics::NONE);
    }

    /// Takes in a quiet hop; true when a stretch is complete. A stretch lasts whole turns to the sample, or the partials would be
    /// mistaken for each other.
    fn measure(&mut self, samples: &[f32]) -> bool {
        let open = self.wanted - self.count;
        let wanted = || samples.iter().copied().step_by(self.stride).take(open);
        let rate_hz = self.rate_hz / self.stride as f64;
        for (which, mains) in self.mains.iter_mut().enumerate() {
            if self.known.is_none_or(|(known, _)| known == which) {
                mains.measure(wanted(), rate_hz);
            }
        }
        self.energy += wanted().map(|s| f64::from(s).powi(2)).sum::<f64>();
        self.count += wanted().count();
        self.hops += 1;
        self.hops >= self.patience
    }

    /// Learns from a complete stretch; true when the room has to be learnt anew.
    fn learn(&mut self) -> bool {
        let power = self.energy / self.count as f64;
        let with_hum = self.with_hum / (self.hops * self.hop) as f64;
        let Some((which, known)) = self.known else { return self.find(power) };
        self.follow(which, &known);
        let gone = power > with_hum || self.strange >= STRANGE;
        if gone {
            self.known = None;
            self.mains[which] = Mains { turns: self.mains[which].turns, ..Mains::new(self.mains[which].nominal_hz) };
            (self.gain, self.strange) = (0.0, 0);
        }
        gone
    }

    fn stretch_s(&self) -> f64 {
        (self.hops * self.hop) as f64 / self.rate_hz
    }

    /// Looks for hum in a stretch of this power; true when there is some.
    fn find(&mut self, power: f64) -> bool {
        let stretch_s = self.stretch_s();
        let (mut most, mut found) = (LEAST.max(SHARE * power), None);
        for (which, mains) in self.mains.iter_mut().enumerate() {
            let heard = mains.partials(self.count);
            let Some(before) = mains.before.replace(heard) else { continue };
            let drift = heard.later_than(&before);
            let alike = heard.likeness(&before.later(drift)) > ALIKE && drift.abs() < DRIFT_HZ * stretch_s;
            if alike && heard.power() > most {
                most = heard.power();
                found = Some((which, heard, drift));
            }
        }
        let Some((which, heard, drift)) = found else { return false };
        let mains = &mut self.mains[which];
        mains.hz += TRUST * drift / stretch_s;
        // The partials are those of the middle of what was measured.
        mains.turns += 0.6 * drift;
        self.known = Some((which, heard));
        (self.learnt, self.since) = (2.0, 0);
        self.rest = (1.0 / f64::from(self.fade)) as usize / self.hop + 2;
        true
    }

    /// Corrects the known hum by the hum that a stretch still holds after the known hum was taken out.
    fn follow(&mut self, which: usize, known: &HumHarmonics) {
        let stretch_s = self.stretch_s();
        let mains = &mut self.mains[which];
        let heard = known.plus(1.0, &mains.partials(self.count));
        let late = heard.later_than(known);
        let heard = heard.later(-late);
        if known.likeness(&heard) < ALIKE {
            self.strange += 1;
            return;
        }
        let since_s = (self.since * self.hop) as f64 / self.rate_hz;
        mains.turns += late;
        let hz = mains.hz + late / (since_s + f64::from(self.learnt) * stretch_s);
        mains.hz = hz.clamp(mains.nominal_hz - DRIFT_HZ, mains.nominal_hz + DRIFT_HZ);
        let share = 1.0 / self.learnt;
        self.known = Some((which, known.plus(-share, known).plus(share, &heard)));
        self.learnt = (self.learnt + 1.0).min(MEMORY);
        (self.since, self.strange) = (0, 0);
    }
}
