/// The places of the chords in a bar of four, in beats from 0; a place on a half beat swings. One row is drawn for each bar (common
/// practice). Below are those of three, of five, and of any other number of beats.
const FOUR: [&[f64]; 9] =
    [&[0.0, 1.5], &[1.5, 3.0], &[1.0, 3.0], &[0.0, 2.5], &[0.5, 2.0], &[1.5], &[2.5], &[0.0, 1.5, 3.0], &[1.0, 2.5]];
const THREE: [&[f64]; 6] = [&[0.0, 1.5], &[1.0], &[1.0, 2.0], &[0.0, 2.0], &[0.5, 2.0], &[1.5]];
const FIVE: [&[f64]; 6] = [&[0.0, 1.5, 3.0], &[0.0, 3.0], &[1.0, 3.0], &[0.0, 3.5], &[1.5, 3.0], &[0.0, 2.5]];
const OTHER: [&[f64]; 4] = [&[0.0], &[1.0], &[0.0, 1.5], &[0.5]];

/// The places of the chords in one bar, from another row than in the bar before (`last`). `starts` are the beats on which the chords
/// of the bar begin; a chord without a place in the row drawn is struck on its first beat.
pub(super) fn places(meter: u32, starts: &[u32], last: &mut usize, draw: &mut dyn FnMut() -> f64) -> Vec<f64> {
    let rhythms: &[&[f64]] = match meter {
        3 => &THREE,
        4 => &FOUR,
        5 => &FIVE,
        _ => &OTHER,
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

/// The beats that a brush or a click marks, from 0: the second and fourth of four; in other meters weak ones, and in six every
/// second beat.
pub(super) const fn marked(meter: u32) -> &'static [u32] {
    match meter {
        2 => &[1],
        3 => &[1, 2],
        4 => &[1, 3],
        5 => &[1, 2, 4],
        6 => &[1, 3, 5],
        _ => &[1, 3, 5, 6],
    }
}

/// The beats of the two bars of lead-in on which a click sounds: the first beat of each half of the first bar (in two and three only
/// the first beat), and every beat of the second bar.
pub(super) fn counted(meter: u32) -> Vec<u32> {
    let half = if meter > 3 { vec![0, meter.div_ceil(2)] } else { vec![0] };
    half.into_iter().chain(meter..2 * meter).collect()
}
