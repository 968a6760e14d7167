use super::bands::Bands;
use super::clock::Clock;
use pitch_detection::detector::PitchDetector;
use pitch_detection::detector::yin::YINDetector;

/// Confidence that is left where the second opinion differs.
const DOUBT: f64 = 0.6;
/// What is left where it has none.
const UNSURE: f64 = 0.9;
/// Largest difference that still agrees, half steps.
const NEAR: f64 = 0.5;
/// Largest window, in samples of its band.
const LARGEST: usize = 2048;

/// Asks an independent detector (YIN, de Cheveigne and Kawahara, 2002) about the steady middle of a note: 1 where it agrees,
/// less where it does not. It looks once a note; its detector is made for that and dropped.
pub(super) fn agreement(bands: &Bands, clock: &Clock, onset: i64, release: i64, semitone: f64) -> f64 {
    let period = clock.period(semitone);
    let band = if period > clock.heard_hz / 300.0 { &bands.bands[1] } else { &bands.bands[0] };
    let factor = band.factor as f64;
    let own_period = period / factor;
    let size = ((4.5 * own_period) as usize).next_power_of_two().clamp(256, LARGEST);
    let length = ((release - onset) as f64 / factor) as usize;
    if own_period * 2.0 > size as f64 / 2.0 || length < size {
        return 1.0;
    }
    let middle = (0.5 * (onset + release) as f64 / factor) as i64;
    let oldest = band.history.end() - (clock.heard_hz * 0.7 / factor) as i64;
    let begin = (middle - size as i64 / 2).max(oldest);
    let window = band.history.window(begin, begin + size as i64);
    if window.len() != size {
        return 1.0;
    }
    let mut detector = YINDetector::new(size, size / 2);
    let rate = (clock.heard_hz / factor).round() as usize;
    match detector.get_pitch(window, rate, 0.0, 0.8) {
        None => UNSURE,
        Some(pitch) if f64::from(pitch.frequency) > 0.0 => {
            let hz = f64::from(pitch.frequency) * (clock.heard_hz / factor) / rate as f64;
            let heard = 12.0 * (hz / 440.0).log2();
            if (heard - semitone).abs() < NEAR { 1.0 } else { DOUBT }
        }
        Some(_) => UNSURE,
    }
}
