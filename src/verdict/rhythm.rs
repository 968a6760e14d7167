//! Whether the player played another rhythm than the asked one.
//!
//! Two explanations of the onsets compete by least squares: the asked rhythm, at any pace, with a swing of the player's own and what was
//! already found of standing still; and a rhythm of ordinary note values at about the asked tempo. Another rhythm is found only where it
//! explains the onsets much better, and where some distance between notes differs by a note value; three rhythms that the asked one
//! explains as well are looked for by themselves ([`regular`]). But for the first ([`JITTER_S`]), the bounds were fitted on simulated
//! players and come from no publication.

/// People who play in time stray by about so much, seconds (15 to 25 ms: Repp 2005, from memory).
const JITTER_S: f64 = 0.025;
/// People stray by about so much, in beats; the larger of the two strays counts, so this one where the beat is long.
const JITTER_BEATS: f64 = 0.035;
/// The other rhythm must explain the onsets better by at least this, in units of `jitter`.
const GAIN: f64 = 7.0;
/// What each place where the player stood still costs the asked rhythm, in units of `jitter`.
const STOOD: f64 = 6.0;
/// What another pace than asked costs the asked rhythm, in units of `jitter`.
const OTHER_PACE: f64 = 9.0;
/// A free answer is at another pace, and not another rhythm, up to this factor between the length of a beat as played and as asked:
/// beyond it the answer is hardly the asked line.
const FREE_PACE: f64 = 2.0;
/// Another pace moves the end of the line by more than this, seconds.
const PACE_MOVES_S: f64 = 0.09;
/// What a distance that differs from the asked one costs the other rhythm.
const CHANGED: f64 = 10.0;
/// What a distance that differs from the asked one costs where it repeats the one that came one, two or three notes before.
const AGAIN: f64 = 0.2;
/// Whoever waits longer than asked more often than this, or so often but not twice alike, and never comes sooner, stumbles, unless the distances repeat a figure or the
/// player went over to another note value and stayed with it to the end ([`stays`]).
const STUMBLES: usize = 2;
/// Number of distances as asked that must come before the player goes over to another note value.
const BEFORE: usize = 2;
/// What a rhythm costs that repeats one figure of one, two or three distances from beginning to end, as 3-3-2 does.
const CELL: [f64; 3] = [1.0, 3.0, 5.0];
/// A pace that differs from the asked one by this share costs the other rhythm 1: the first number in tempo, the second in free answers.
/// Twice the share costs 4.
const DRIFT: (f64, f64) = (0.04, 0.1);
/// Grids in beats, with what they cost: the finer the grid, the likelier it fits by chance.
const GRIDS: [(f64, f64); 4] = [(0.5, 0.0), (1.0 / 3.0, 2.0), (0.25, 3.0), (1.0 / 6.0, 6.0)];
/// No grid is finer than this, seconds, unless the line itself asks for it; the second number is for eighths beside triplets, a grid of sixths.
const FINEST_S: [f64; 2] = [0.1, 0.075];
/// The onsets must lie this near the other rhythm, or for a `regular` one the asked rhythm (root mean square), seconds.
const NEAR_S: f64 = 0.033;
/// The onsets must also lie this near the other rhythm in steps of its grid (root mean square).
const NEAR_STEPS: f64 = 0.22;
/// A distance that was not asked and is longer than this, in beats, must be a whole number of half beats.
const LONGEST_ODD: f64 = 1.2;
/// To make another rhythm, some distance must differ from the asked one by at least this many beats and at least this many seconds.
const DIFFERS: (f64, f64) = (0.16, 0.075);
/// A single displaced note must lie further off than this, both in beats and in seconds, to make another rhythm; nearer, the note is late
/// or early.
const DISPLACED: (f64, f64) = (0.3, 0.15);
/// Off-beats of even eighths up to this far behind the half beat are swung, in beats (share .72: 2.6 to 1).
const MOST_SWUNG: f64 = 0.22;
/// Off-beats of even eighths further than this behind the half beat, or before it, are dotted, in beats.
const DOTTED: f64 = 0.226;
/// Off-beats this near to the asked place, in beats, are swung as asked, at any pace.
const AS_SWUNG: f64 = 0.06;
/// A line that is swung otherwise than asked keeps the asked tempo within this share.
const SWINGS_AT: f64 = 0.2;
/// A whole answer in triplets where eighths were asked, or the other way round, is known by its pace within this share; in tempo, a pace
/// beyond this share from the asked one is another pace, and no line begun on the beat in place of off it is known at such a pace.
const SAME_RATIO: f64 = 0.05;
/// An answer counts as begun half a beat off its place where it is this near to half a beat off, in beats.
const HALF_OFF: f64 = 0.2;
/// Least number of notes by which a rhythm is known.
const NOTES: usize = 4;

/// The onsets of an answer, with what the asked rhythm already explains.
pub(super) struct Onsets<'a> {
    /// Where each note was asked, in beats, with the off-beats of a swung line put back to the half beat.
    pub asked: &'a [f64],
    /// When each note began, seconds.
    pub at_s: &'a [f64],
    /// Onsets with the time of standing still taken out, in seconds.
    pub moving_s: &'a [f64],
    /// How often the player stood still.
    pub stood: usize,
    /// The asked beat, seconds.
    pub beat_s: f64,
    /// The second at which beat 0 was due, with the delay of the devices added; `None` in free answers, and where the delay is
    /// unknown.
    pub beat_zero_s: Option<f64>,
    /// Whether the answer was asked in tempo.
    pub in_tempo: bool,
    /// How far behind the half beat the off-beats in `asked` were asked to be, beats: 0 where the line does not swing.
    pub late: f64,
}

/// Another rhythm, as it was played.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct OtherRhythm {
    /// Where each note was played, in beats.
    pub played: Vec<f64>,
    /// When beat 0 of the line fell, seconds.
    pub start_s: f64,
    /// How long a beat lasted, seconds.
    pub beat_s: f64,
    /// Root mean square distance of the onsets from that rhythm, seconds.
    pub scatter_s: f64,
}

/// A straight line through onsets, with its sum of squares.
#[derive(Debug, Clone, Copy)]
struct LeastSquares {
    start_s: f64,
    beat_s: f64,
    squares: f64,
}

/// The other rhythm that the player played; `None` where it is the asked one, or no rhythm at all.
pub(super) fn other(onsets: &Onsets<'_>) -> Option<OtherRhythm> {
    if onsets.asked.len() < NOTES {
        return None;
    }
    let own = AsAsked::of(onsets)?;
    free_of_the_line(onsets, &own).or_else(|| regular(onsets, &own))
}

/// How well the asked rhythm explains the onsets.
struct AsAsked {
    line: LeastSquares,
    /// How far behind the half beat the off-beats lie in the best fit, within .28 of a beat either way.
    swing: f64,
    /// The best fit, however far its off-beats lie behind the half beat.
    swung: LeastSquares,
    cost: f64,
}

impl AsAsked {
    fn of(onsets: &Onsets<'_>) -> Option<Self> {
        let same_pace = |line: &LeastSquares, within: f64| (line.beat_s / onsets.beat_s - 1.0).abs() < within;
        let far_off = |line: &LeastSquares| {
            let pace = line.beat_s / onsets.beat_s;
            pace.max(1.0 / pace) > FREE_PACE
        };
        let as_asked = |swing: f64| swing.abs() < 1e-6 || (swing - onsets.late).abs() < AS_SWUNG;
        let fits: Vec<(f64, LeastSquares)> = swings()
            .flat_map(|swing| [false, true].map(|paired| (swing, swung(onsets.asked, swing, paired))))
            .filter_map(|(swing, places)| Some((swing, least_squares(&places, onsets.moving_s)?)))
            // A player who swings otherwise than asked keeps about the asked tempo: at another tempo, another rhythm looks like
            // swing.
            .filter(|(swing, line)| match as_asked(*swing) {
                true => swing.abs() < 1e-6 || !far_off(line),
                false => same_pace(line, SWINGS_AT),
            })
            .collect();
        let least = |most: f64| {
            let within = fits.iter().filter(|(swing, _)| swing.abs() < most + 1e-6);
            within.min_by(|a, b| a.1.squares.total_cmp(&b.1.squares))
        };
        let (swing, swung) = least(f64::INFINITY)?;
        let (_, line) = least(MOST_SWUNG)?;
        let beats = onsets.asked.last()? - onsets.asked.first()?;
        let moved_s = (line.beat_s - onsets.beat_s).abs() * beats;
        let far = if onsets.in_tempo { !same_pace(line, SAME_RATIO) } else { far_off(line) };
        let paced = far && moved_s > PACE_MOVES_S;
        let price = STOOD * onsets.stood as f64 + if paced { OTHER_PACE } else { 0.0 };
        Some(Self { line: *line, swing: *swing, swung: *swung, cost: line.squares / jitter(onsets.beat_s) + price })
    }
}

/// The swings to try, in beats behind the half beat. Some are negative: a line with half a beat of pick-up has its beats where
/// others have off-beats.
fn swings() -> impl Iterator<Item = f64> {
    (-28..=28).map(|n| 0.01 * f64::from(n))
}

/// The places with their off-beats moved as swing moves them; where `paired`, only those off-beats that have a note half a beat
/// before and another half a beat after.
fn swung(asked: &[f64], by: f64, paired: bool) -> Vec<f64> {
    let on = |n: Option<&f64>, at: f64| n.is_some_and(|it| (it - at).abs() < 1e-6);
    let moved = |n: usize| {
        let at = asked[n];
        let off = (at - at.floor() - 0.5).abs() < 1e-6;
        let pair = n.checked_sub(1).is_some_and(|b| on(asked.get(b), at - 0.5)) && on(asked.get(n + 1), at + 0.5);
        if off && (pair || !paired) { at + by } else { at }
    };
    (0..asked.len()).map(moved).collect()
}

impl LeastSquares {
    /// Root mean square distance of so many onsets from the line, seconds.
    fn scatter_s(&self, notes: usize) -> f64 {
        (self.squares / notes as f64).sqrt()
    }
}

fn least_squares(beats: &[f64], at_s: &[f64]) -> Option<LeastSquares> {
    let n = beats.len() as f64;
    let (x, y) = (beats.iter().sum::<f64>() / n, at_s.iter().sum::<f64>() / n);
    let spread: f64 = beats.iter().map(|b| (b - x).powi(2)).sum();
    let both: f64 = beats.iter().zip(at_s).map(|(b, t)| (b - x) * (t - y)).sum();
    if spread <= 0.0 || both <= 0.0 {
        return None;
    }
    let beat_s = both / spread;
    let start_s = y - beat_s * x;
    let squares = beats.iter().zip(at_s).map(|(b, t)| (t - start_s - beat_s * b).powi(2)).sum();
    Some(LeastSquares { start_s, beat_s, squares })
}

/// A rhythm of ordinary note values that explains the onsets much better than the asked one does.
fn free_of_the_line(onsets: &Onsets<'_>, own: &AsAsked) -> Option<OtherRhythm> {
    let mut best: Option<(f64, OtherRhythm)> = None;
    for (step, price) in GRIDS {
        let on = |step: f64| onsets.asked.iter().all(|at| off_grid(*at, step) < 1e-3);
        let asks = on(step) && !on(0.5);
        let beside = !asks && step < 0.2;
        if !asks && step * onsets.beat_s < FINEST_S[usize::from(beside)] {
            continue;
        }
        let between = |at: &f64| beside && off_grid(*at, 0.5).min(off_grid(*at, 1.0 / 3.0)) > 1e-3;
        for ratio in paces(onsets.in_tempo) {
            let Some((other, squares)) = on_grid(onsets, step, onsets.beat_s * ratio) else { continue };
            let only_paced = !onsets.in_tempo && in_proportion(onsets.asked, &other.played);
            let odd = other.played.iter().any(between) || !of_note_values(onsets.asked, &other.played);
            if only_paced || odd || !differs(onsets, &other) {
                continue;
            }
            let drift = (ratio - 1.0) / if onsets.in_tempo { DRIFT.0 } else { DRIFT.1 };
            let price = drift.powi(2) + if asks { 0.0 } else { price };
            let Some(changes) = changes(onsets.asked, &other.played) else { continue };
            let cost = squares / jitter(onsets.beat_s) + price + changes;
            if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                best = Some((cost, other));
            }
        }
    }
    best.filter(|(cost, _)| own.cost - cost > GAIN).map(|(_, other)| other)
}

/// The square of how far people stray, in squares of a second.
fn jitter(beat_s: f64) -> f64 {
    JITTER_S.max(JITTER_BEATS * beat_s).powi(2)
}

fn off_grid(at: f64, step: f64) -> f64 {
    (at / step - (at / step).round()).abs() * step
}

fn paces(in_tempo: bool) -> impl Iterator<Item = f64> {
    let (from, to) = if in_tempo { (-10, 10) } else { (-20, 25) };
    (from..=to).map(|n| 1.0 + 0.01 * f64::from(n))
}

/// The onsets put on a grid of `step` beats, where a beat lasts about `beat_s`, with the sum of squares; `None` where they do not
/// fit.
fn on_grid(onsets: &Onsets<'_>, step: f64, beat_s: f64) -> Option<(OtherRhythm, f64)> {
    let step_s = step * beat_s;
    let turns = |t: f64| std::f64::consts::TAU * (t - onsets.at_s[0]) / step_s;
    // The mean place of all onsets within a step of the grid, as the mean direction on a circle.
    let (sine, cosine) =
        onsets.at_s.iter().fold((0.0, 0.0), |sum: (f64, f64), t| (sum.0 + turns(*t).sin(), sum.1 + turns(*t).cos()));
    let first_s = onsets.at_s[0] + sine.atan2(cosine) / std::f64::consts::TAU * step_s;
    let mut places: Vec<f64> = onsets.at_s.iter().map(|t| ((t - first_s) / step_s).round() * step).collect();
    let line = least_squares(&places, onsets.at_s)?;
    for (place, t) in places.iter_mut().zip(onsets.at_s) {
        *place = ((t - line.start_s) / line.beat_s / step).round() * step;
    }
    let line = least_squares(&places, onsets.at_s)?;
    let scatter_s = (line.squares / places.len() as f64).sqrt();
    let forward = places.windows(2).all(|pair| pair[1] > pair[0] + 1e-6);
    if !forward || scatter_s > NEAR_S || scatter_s > NEAR_STEPS * step * line.beat_s {
        return None;
    }
    let on_the_beat = onsets.beat_zero_s.map(|zero_s| ((line.start_s - zero_s) / line.beat_s / step).round() * step);
    // An answer that begins within half a beat of its place is compared with the beat. Any other began elsewhere, which is another
    // fault.
    let begun = on_the_beat.filter(|by| (places[0] + by - onsets.asked[0]).abs() < 0.5 + 1e-3);
    let by = begun.unwrap_or_else(|| anchored(onsets.asked, &places));
    let played = straight(places.iter().map(|place| place + by).collect());
    let other = OtherRhythm { played, start_s: line.start_s - by * line.beat_s, beat_s: line.beat_s, scatter_s };
    Some((other, line.squares))
}

/// The distance by which the places are to be moved so that as many of them as possible stand where they were asked.
fn anchored(asked: &[f64], places: &[f64]) -> f64 {
    let agree = |by: f64| {
        let moved = straight(places.iter().map(|place| place + by).collect());
        moved.iter().zip(asked).filter(|(a, b)| (*a - *b).abs() < 1e-3).count()
    };
    let first = asked[0] - places[0];
    let ways = asked.iter().zip(places).map(|(a, b)| a - b);
    let best = ways
        .map(|by| (agree(by), by))
        .max_by(|a, b| a.0.cmp(&b.0).then((b.1 - first).abs().total_cmp(&(a.1 - first).abs())));
    best.map_or(first, |(_, by)| by)
}

/// The same places with a swung off-beat (two thirds of a beat) moved to the half, where nothing stands on the first third.
fn straight(places: Vec<f64>) -> Vec<f64> {
    let part = |at: f64| at - (at + 1e-6).floor();
    if places.iter().any(|at| (part(*at) - 1.0 / 3.0).abs() < 1e-3) {
        return places;
    }
    let half = |at: f64| if (part(at) - 2.0 / 3.0).abs() < 1e-3 { at - 1.0 / 6.0 } else { at };
    places.into_iter().map(half).collect()
}

/// Whether a distance differs from the asked one by a note value, and more than a single note that is a little off.
fn differs(onsets: &Onsets<'_>, other: &OtherRhythm) -> bool {
    let by: Vec<f64> = other.played.iter().zip(onsets.asked).map(|(played, asked)| played - asked).collect();
    let furthest = by.windows(2).map(|pair| (pair[1] - pair[0]).abs()).fold(0.0, f64::max);
    if furthest < DIFFERS.0 || furthest * other.beat_s < DIFFERS.1 {
        return false;
    }
    let mut displaced = by.iter().filter(|by| by.abs() > 1e-3);
    match (displaced.next(), displaced.next()) {
        (Some(one), None) => one.abs() > DISPLACED.0 && one.abs() * other.beat_s > DISPLACED.1,
        _ => true,
    }
}

/// Whether all distances are the same multiple of the asked ones: the same rhythm at another pace.
fn in_proportion(asked: &[f64], played: &[f64]) -> bool {
    let ratios =
        asked.windows(2).zip(played.windows(2)).map(|(asked, played)| (played[1] - played[0]) / (asked[1] - asked[0]));
    let (least, most) = ratios.fold((f64::INFINITY, 0.0_f64), |(least, most), it| (least.min(it), most.max(it)));
    most - least < 1e-3 * most
}

/// Whether every distance that was not asked is short or a whole number of half beats: a player who stumbles waits for any time.
fn of_note_values(asked: &[f64], played: &[f64]) -> bool {
    let pairs = asked.windows(2).zip(played.windows(2));
    pairs
        .map(|(asked, played)| (asked[1] - asked[0], played[1] - played[0]))
        .all(|(asked, played)| (asked - played).abs() < 1e-3 || played < LONGEST_ODD || off_grid(played, 0.5) < 1e-3)
}

/// The cost of the distances between onsets that differ from the asked ones; `None` where they are those of a player who stumbles.
/// A rhythm repeats itself and chance does not, so a distance that comes back after one, two or three notes costs little.
fn changes(asked: &[f64], played: &[f64]) -> Option<f64> {
    let apart = |places: &[f64]| places.windows(2).map(|pair| pair[1] - pair[0]).collect::<Vec<_>>();
    let (asked, played) = (apart(asked), apart(played));
    let same = |a: f64, b: f64| (a - b).abs() < 1e-3;
    let price = |n: usize, period: usize| match n.checked_sub(period) {
        _ if same(asked[n], played[n]) => 0.0,
        Some(before) if same(played[before], played[n]) => AGAIN,
        _ => CHANGED,
    };
    let cell =
        |period: usize| (period..played.len()).all(|n| same(played[n], played[n - period])) && played.len() > period;
    let whole = |period: usize| {
        let each = (0..played.len()).map(|n| price(n, period)).sum::<f64>();
        if cell(period) { each.min(CELL[period - 1]) } else { each }
    };
    let changed: Vec<usize> = (0..played.len()).filter(|n| !same(asked[*n], played[*n])).collect();
    let unlike = changed.windows(2).any(|pair| !same(played[pair[0]], played[pair[1]]));
    let often = changed.len() > STUMBLES || changed.len() == STUMBLES && unlike;
    let stumbles = often && changed.iter().all(|n| played[*n] > asked[*n]);
    let figure = (1..=CELL.len()).any(cell) || stays(&asked, &played);
    (figure || !stumbles).then(|| (1..=CELL.len()).map(whole).fold(f64::INFINITY, f64::min))
}

/// Whether the distances between onsets are as asked at first, and from some note to the end one and the same other note value in place of
/// one and the same asked one: quarters instead of eighths from the fourth note on.
fn stays(asked: &[f64], played: &[f64]) -> bool {
    let same = |a: f64, b: f64| (a - b).abs() < 1e-3;
    let from = (0..asked.len()).take_while(|n| same(asked[*n], played[*n])).count();
    let (Some(wanted), Some(came)) = (asked.get(from), played.get(from)) else { return false };
    from >= BEFORE && (from..asked.len()).all(|n| same(asked[n], *wanted) && same(played[n], *came))
}

/// Other rhythms that the asked one explains as well: eighths more dotted than anybody swings, either way round, triplets where
/// eighths were asked (or the other way round), and a line that should begin off the beat and began on it.
fn regular(onsets: &Onsets<'_>, own: &AsAsked) -> Option<OtherRhythm> {
    let near = |line: &LeastSquares| line.scatter_s(onsets.asked.len()) < NEAR_S;
    let (asked, line) = (onsets.asked, own.line);
    if onsets.stood > 0 {
        return None;
    }
    let even = asked.windows(2).take(asked.len() - 2).map(|pair| pair[1] - pair[0]);
    let eighths = even.clone().all(|apart| (apart - 0.5).abs() < 1e-3);
    let thirds = even.clone().all(|apart| (apart - 1.0 / 3.0).abs() < 1e-3);
    let pace = line.beat_s / onsets.beat_s;
    let by = |line: LeastSquares, played: Vec<f64>, beat_s: f64| {
        Some(OtherRhythm { played, start_s: line.start_s, beat_s, scatter_s: line.scatter_s(asked.len()) })
    };
    // What is dotted lies near its own off-beats, not near those of a swing.
    if eighths && own.swing.abs() > DOTTED && onsets.late == 0.0 && near(&own.swung) {
        return by(own.swung, swung(asked, 0.25_f64.copysign(own.swing), false), own.swung.beat_s);
    }
    if !near(&line) {
        return None;
    }
    for (is, ratio) in [(eighths, 2.0 / 3.0), (thirds, 1.5)] {
        if is && onsets.in_tempo && (pace / ratio - 1.0).abs() < SAME_RATIO {
            let played = asked.iter().map(|it| asked[0] + ratio * (it - asked[0])).collect();
            return by(line, played, line.beat_s / ratio);
        }
    }
    let off = asked[0] - asked[0].round();
    let early = (line.start_s - onsets.beat_zero_s?) / onsets.beat_s;
    let begun_on_the_beat = off.abs() > 0.4 && (early.abs() - 0.5).abs() < HALF_OFF && (pace - 1.0).abs() < SAME_RATIO;
    let played = asked.iter().map(|it| it + 0.5 * early.signum()).collect();
    begun_on_the_beat.then(|| by(line, played, line.beat_s)).flatten()
}
