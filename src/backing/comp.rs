/// The places of the chords in a bar of four, in beats from 0; a place on a half beat swings. One row is drawn for each bar (common
/// practice). Below are those of the other meters; five is three and two, six three and three, seven four and three.
const FOUR: [&[f64]; 9] =
    [&[0.0, 1.5], &[1.5, 3.0], &[1.0, 3.0], &[0.0, 2.5], &[0.5, 2.0], &[1.5], &[2.5], &[0.0, 1.5, 3.0], &[1.0, 2.5]];
const THREE: [&[f64]; 6] = [&[0.0, 1.5], &[1.0], &[1.0, 2.0], &[0.0, 2.0], &[0.5, 2.0], &[1.5]];
const FIVE: [&[f64]; 6] = [&[0.0, 1.5, 3.0], &[0.0, 3.0], &[1.0, 3.0], &[0.0, 3.5], &[1.5, 3.0], &[0.0, 2.5]];
const TWO: [&[f64]; 4] = [&[0.0], &[1.0], &[0.0, 1.5], &[0.5]];
const SIX: [&[f64]; 6] = [&[0.0, 3.0], &[0.0, 1.5, 3.0], &[1.0, 4.0], &[1.5, 4.5], &[0.0, 2.5, 4.5], &[1.5, 3.0]];
const SEVEN: [&[f64]; 6] =
    [&[0.0, 4.0], &[0.0, 1.5, 4.0], &[1.5, 4.0], &[1.0, 3.0, 5.0], &[0.0, 2.5, 5.5], &[1.5, 5.0]];

/// The places of the chords in one bar, from another row than in the bar before (`last`). `starts` are the beats on which the chords
/// of the bar begin; a chord without a place in the row drawn is struck on its first beat.
pub(super) fn places(meter: u32, starts: &[u32], last: &mut usize, draw: &mut dyn FnMut() -> f64) -> Vec<f64> {
    let rhythms: &[&[f64]] = match meter {
        3 => &THREE,
        4 => &FOUR,
        5 => &FIVE,
        6 => &SIX,
        7 => &SEVEN,
        _ => &TWO,
    };
    let other = (draw() * (rhythms.len() - 1) as f64) as usize;
    let drawn = if other >= *last { other + 1 } else { other };
    *last = drawn.min(rhythms.len() - 1);
    let mut places: Vec<f64> = rhythms[*last].iter().copied().filter(|place| *place < f64::from(meter)).collect();
    for (n, start) in starts.iter().enumerate() {
        let from = f64::from(*start);
        let to = starts.get(n + 1).map_or(f64::from(meter), |next| f64::from(*next));
        if !places.iter().any(|place| (from..to).contains(place)) {
            places.push(from);
        }
    }
    places.sort_by(f64::total_cmp);
    places
}

/// The beats that a brush or a click marks, from 0: the second and fourth of four; in other meters the weak ones, none of those that
/// [`Chorus::strong_beats`](crate::chart::Chorus::strong_beats) names.
pub(super) const fn marked(meter: u32) -> &'static [u32] {
    match meter {
        2 => &[1],
        3 => &[1, 2],
        4 => &[1, 3],
        5 => &[1, 2, 4],
        6 => &[1, 2, 4, 5],
        _ => &[1, 3, 5, 6],
    }
}

/// The beats of the two bars of lead-in on which a click sounds: the first beat of each half of the first bar (in two and three only
/// the first beat), and every beat of the second bar.
pub(super) fn counted(meter: u32) -> Vec<u32> {
    let half = if meter > 3 { vec![0, meter.div_ceil(2)] } else { vec![0] };
    half.into_iter().chain(meter..2 * meter).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::ChordChart;

    /// The beats of a bar that are strong.
    fn strong(meter: u32) -> &'static [u32] {
        ChordChart::parse(&format!("{meter}/4 | C |")).unwrap().chorus().strong_beats()
    }

    #[test]
    fn brush_and_click_fall_on_no_strong_beat_and_the_second_half_of_a_bar_has_its_own() {
        for meter in 2..=7 {
            assert!(marked(meter).iter().all(|beat| *beat < meter && !strong(meter).contains(beat)), "{meter}");
            for (n, begins) in strong(meter).iter().enumerate() {
                let ends = strong(meter).get(n + 1).copied().unwrap_or(meter);
                assert!(marked(meter).iter().any(|beat| (*begins..ends).contains(beat)), "{meter}, from {begins}");
            }
        }
    }

    #[test]
    fn in_long_bars_chords_come_in_both_halves() {
        // Common practice: a bar of six beats is no bar of two with four empty beats after it.
        let mut seed = 7u32;
        let mut draw = || {
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            f64::from(seed >> 8) / f64::from(1u32 << 24)
        };
        for meter in 4..=7 {
            let mut last = usize::MAX;
            let half = f64::from(strong(meter)[1]);
            let bars: Vec<Vec<f64>> = (0..60).map(|_| places(meter, &[0], &mut last, &mut draw)).collect();
            let late = bars.iter().filter(|bar| bar.iter().any(|place| *place >= half)).count();
            assert!(late >= 30, "{meter}: only {late} of 60 bars have a chord in their second half");
            assert!(bars.windows(2).all(|pair| pair[0] != pair[1]), "{meter}: no bar is like the one before");
        }
    }
}
