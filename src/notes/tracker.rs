use super::analysis_frame::{AnalysisFrame, Candidate};
use super::background::Background;
use super::bands::Bands;
use super::correlation::{Correlation, parabola};
use super::filters::dots;
use super::note_event::EarSettings;
use super::odd_partials::OddPartials;
use super::pick::pick;
use super::rules::Rules;
use super::time_base::TimeBase;
use crate::units::Decibels;

/// Pitches above this are measured in the full band, hertz: their periods are short.
const SHORT_HZ: f64 = 424.0;
/// Pitches below this are measured in the low band, hertz: their periods are long.
const LONG_HZ: f64 = 110.0;
/// The low band measures a pitch again only where the two periods differ by less, cents.
const LOW_CENTS: f64 = 40.0;
/// No pitch above this is looked for (a piccolo's or piano's top is at 4.2 kHz).
const TOP_HZ: f64 = 5500.0;
/// The lowest frequency that can be asked for.
const BOTTOM_HZ: f64 = 26.0;

/// A short period is measured on a multiple of the period with at least this many samples, where the curve between two lags is
/// round enough for a parabola.
const MEASURED: f64 = 100.0;

/// Samples in, one [`AnalysisFrame`] a hop out. It knows periods, levels and the room; it does not know what a note is.
#[derive(Debug, Clone)]
pub(super) struct Tracker {
    /// Rates and lengths that follow from the rate of the stream.
    pub(super) time: TimeBase,
    /// The sound so far, in three bands.
    pub(super) bands: Bands,
    /// What was learnt of the room.
    pub(super) background: Background,
    /// The numbers by which pitches are chosen.
    rules: Rules,
    /// Correlations of the three bands.
    tables: [Correlation; 3],
    /// Shortest and longest period of each table that count, in heard samples.
    spans: [(f64, f64); 3],
    /// Heard samples up to the end of a hop, whose power the hop's own is compared with: the longest lag and a hop.
    reach: i64,
    /// Watches a tone's soft odd partials, which tell its octave.
    odd_partials: OddPartials,
    /// Number of frames so far.
    frames: i64,
    /// Period of the newest frame with a pitch, in heard samples.
    last_period: f64,
}

impl Tracker {
    /// A tracker of the range of `settings`; all its memory is taken here, once.
    pub(super) fn new(settings: &EarSettings, rules: &Rules) -> Self {
        let time = TimeBase::new(settings.rate);
        let heard_hz = time.heard_hz;
        let top = (settings.highest.0 * 1.03).min(0.45 * heard_hz).clamp(100.0, TOP_HZ);
        let bottom = (settings.lowest.0 * 0.97).max(BOTTOM_HZ * 0.97).min(top / 2.0);
        let spans = [
            (heard_hz / top, heard_hz / SHORT_HZ.max(bottom) * 1.01),
            (heard_hz / SHORT_HZ.min(top) * 0.99, heard_hz / LONG_HZ.max(bottom) * 1.01),
            (heard_hz / LONG_HZ.min(top) * 0.99, heard_hz / bottom),
        ];
        let table = |band: usize| {
            let factor = [1, time.middle, time.low][band];
            let (short, long) = spans[band];
            let first = (((short / factor as f64).floor() as usize).saturating_sub(5)).max(2);
            let last = if long > short { ((long * 1.06) / factor as f64).ceil() as usize + 5 } else { 0 };
            let blocks = |lag: usize| {
                if band == 0 {
                    return rules.short_window_hops as usize;
                }
                let wanted = rules.window_lags * (lag * factor) as f64 / time.hop as f64;
                wanted.ceil().max(rules.least_window_hops) as usize
            };
            Correlation::new(time.hop / factor, first, last, blocks)
        };
        let tables = [table(0), table(1), table(2)];
        let reach = tables.iter().zip([1, time.middle, time.low]).map(|(table, factor)| table.block_reach() * factor);
        Self {
            bands: Bands::new(time),
            background: Background::new(),
            rules: *rules,
            reach: reach.max().unwrap_or(0) as i64,
            tables,
            spans,
            odd_partials: OddPartials::default(),
            frames: 0,
            last_period: 0.0,
            time,
        }
    }

    /// Analyses the hop that has just been completed; `sounding` is the pitch of the open note, and `young` says that its octave may
    /// still be corrected.
    pub(super) fn analyse(&mut self, sounding: Option<f64>, young: bool) -> AnalysisFrame {
        let share = self.background.share(&self.rules);
        for (table, band) in self.tables.iter_mut().zip(&self.bands.bands) {
            table.renew(&band.history, share);
        }
        let mut frame = AnalysisFrame::default();
        (frame.number, frame.end) = (self.frames, self.bands.all().end());
        self.frames += 1;
        for band in 0..self.tables.len() {
            self.find(band, &mut frame);
        }
        let mut odd_partials = std::mem::take(&mut self.odd_partials);
        let whole = |period: f64, window: usize| self.whole(period, window);
        let octave = odd_partials
            .take(frame.candidates(), sounding, whole, &self.rules)
            .filter(|octave| young || octave.agrees(sounding));
        self.odd_partials = odd_partials;
        frame.octave_known = octave.is_some();
        if let Some(best) = pick(frame.candidates(), sounding, octave, &self.rules) {
            frame.best = best;
        }
        if frame.best.clarity > 0.8 {
            frame.best.period = self.in_the_low_band(&frame.best).unwrap_or(frame.best.period);
            frame.best.period = self.refine(&frame.best);
            frame.best.semitone = self.time.semitone(frame.best.period);
        }
        frame.coherence = self.coherence(&frame, sounding.is_some());
        let power = self.bands.all().power(frame.end - self.time.hop as i64, frame.end);
        frame.level_db = Decibels::of_power(power).0;
        if frame.best.clarity >= self.rules.voiced {
            self.last_period = frame.best.period;
        }
        frame.sharp_db = Decibels::of_power(self.sharpness()).0;
        let span = (self.last_period.round() as i64).max(self.time.ms(4.0));
        frame.steady_db = Decibels::of_power(self.bands.all().power(frame.end - span, frame.end)).0;
        let periodic = frame.best.clarity >= self.rules.voiced;
        let mains = periodic && self.background.is_mains(&frame);
        frame.voiced = periodic && !mains;
        if sounding.is_none() {
            self.background.doubt(&frame, &self.rules);
        }
        let against = self.bands.all().power(frame.end - self.reach, frame.end);
        if self.background.hear(power, against, periodic, mains, sounding.is_some()) {
            for (table, band) in self.tables.iter_mut().zip(&self.bands.bands) {
                table.learn(&band.history, self.background.learnt);
            }
        }
        if self.bands.learn_hum(sounding.is_none()) {
            self.background.restart(self.bands.hum.power());
        }
        frame
    }

    /// Mean square of the second differences of the newest hop.
    fn sharpness(&self) -> f64 {
        let samples = self.bands.all().tail(self.time.hop + 2);
        let bends = samples.windows(3).map(|w| (w[0] - 2.0 * w[1] + w[2]).powi(2));
        f64::from(bends.sum::<f32>()) / self.time.hop as f64
    }

    /// Adds the peaks of one table to a frame.
    fn find(&self, band: usize, frame: &mut AnalysisFrame) {
        let table = &self.tables[band];
        let (short, long) = self.spans[band];
        let factor = self.bands.bands[band].factor as f64;
        let least = self.rules.candidate as f32;
        for (before, near) in table.clarity.windows(3).enumerate() {
            if near[1] < least || near[1] < near[0] || near[1] <= near[2] {
                continue;
            }
            let index = before + 1;
            let (lag, clarity) = table.peak(index);
            let coarse = lag * factor;
            if coarse < short || coarse > long {
                continue;
            }
            let period = if band == 0 { self.multiple(table, lag) } else { coarse };
            let window = table.blocks_at(index) * self.time.hop;
            let semitone = self.time.semitone(period);
            frame.add(Candidate { semitone, period, clarity, window });
        }
    }

    /// A period measured on all that is heard: the upper partials, which the lower bands lack, say more exactly where it ends. A
    /// short one is measured on a multiple, which divides the error. Where this period and the table's differ by more than
    /// `refine_cents`, the table is believed.
    fn refine(&self, best: &Candidate) -> f64 {
        let times = (self.spans[0].1.max(MEASURED) / best.period).ceil().max(1.0);
        let middle = (times * best.period).round() as i64;
        let [shorter, clarity, longer] = self.repeats(middle, best.window as i64);
        let shift = parabola(shorter, clarity, longer, 1.0);
        let fine = (middle as f64 + shift) / times;
        let cents = 1200.0 * (fine / best.period).log2().abs();
        if shift.abs() < 1.0 && cents < self.rules.refine_cents { fine } else { best.period }
    }

    /// Half the double period of a pitch, where the low band's table holds that period: what is heard as the pitch of a stiff
    /// string are its lower partials, while the upper ones are sharp (Fletcher, Blackham and Stratton, "Quality of piano tones",
    /// 1962).
    fn in_the_low_band(&self, best: &Candidate) -> Option<f64> {
        let (table, factor) = (&self.tables[2], self.time.low as f64);
        let top = table.top_near(2.0 * best.period / factor)?;
        let period = 0.5 * table.peak(top).0 * factor;
        let cents = 1200.0 * (period / best.period).log2().abs();
        (f64::from(table.clarity[top]) >= self.rules.low_clarity && cents < LOW_CENTS).then_some(period)
    }

    /// Works out [`AnalysisFrame::coherence`]. Only a pitch that may open a note need be coherent, so while one sounds nobody asks.
    fn coherence(&self, frame: &AnalysisFrame, sounds: bool) -> f64 {
        let period = frame.best.period;
        let times = (0.0055 * self.time.heard_hz / period.max(1.0)).round();
        if times < 2.0 || sounds || frame.best.clarity < self.rules.voiced {
            return 1.0;
        }
        let lag = (times * period).round() as i64;
        let window = self.rules.short_window_hops as i64 * self.time.hop as i64;
        self.repeats(lag, window).into_iter().fold(0.0, f64::max).min(1.0)
    }

    /// Clarity of a period over a window, both in heard samples, on all that is heard: the top of a parabola through three lags
    /// (common practice).
    fn whole(&self, period: f64, window: usize) -> f64 {
        let [shorter, clarity, longer] = self.repeats(period.round() as i64, window as i64);
        let shift = parabola(shorter, clarity, longer, 1.0);
        (clarity - 0.25 * (shorter - longer) * shift).min(1.0)
    }

    /// The normalised square difference of all that is heard at a lag and its two neighbours, the shorter one first, without any
    /// background taken out.
    fn repeats(&self, lag: i64, window: i64) -> [f64; 3] {
        let all = self.bands.all();
        let (begin, end) = (all.end() - window, all.end());
        let now = all.energy(begin, end);
        let [longer, same, shorter] = dots(all.window(begin, end), all.window(begin - lag - 1, end - lag + 1), 1);
        let clarity = |lag: i64, r: f32| 2.0 * f64::from(r) / (now + all.energy(begin - lag, end - lag)).max(1e-12);
        [clarity(lag - 1, shorter), clarity(lag, same), clarity(lag + 1, longer)]
    }

    /// A short period measured on a multiple, at most eight times as long, which divides the error of the measurement: the multiples are
    /// tried from the second on, up to the first that has no clear peak in the table (.7).
    fn multiple(&self, table: &Correlation, lag: f64) -> f64 {
        let mut best = lag;
        for times in 2..=8 {
            let Some(top) = table.top_near(best * f64::from(times)) else { break };
            if table.clarity[top] < 0.7 {
                break;
            }
            best = table.peak(top).0 / f64::from(times);
        }
        best
    }
}
