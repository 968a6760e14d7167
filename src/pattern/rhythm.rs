use crate::pattern::meter::Meter;
use crate::pattern::model::Pattern;
use crate::pattern::time::Ticks;

/// A feature of the rhythm of a pattern.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum RhythmFeature {
    /// Notes of one length and no other feature of this list; the last note may have another length.
    Even,
    /// Notes of different lengths, the last note left out.
    LongAndShort,
    /// Silence before the first note or between two notes.
    Rests,
    /// A note that begins off the beat, and either sounds on past the next beat or has no note sounding on the beat before it; the first
    /// note of a pattern is such a note wherever it begins off the beat.
    OffBeats,
    /// A note that sounds over a bar line.
    OverTheBar,
    /// Triplets of quarters, eighths or sixteenths; not looked for in 6/8.
    Triplets,
    /// A pick-up: the pattern begins before the first bar line.
    PickUp,
    /// Three quarters to a bar.
    ThreeFour,
    /// Six eighths to a bar.
    SixEight,
}

impl RhythmFeature {
    /// All features with their names.
    pub const NAMES: [(&str, Self); 9] = [
        ("even", Self::Even),
        ("long and short", Self::LongAndShort),
        ("rests", Self::Rests),
        ("off-beats", Self::OffBeats),
        ("over the bar", Self::OverTheBar),
        ("triplets", Self::Triplets),
        ("pick-up", Self::PickUp),
        ("3/4", Self::ThreeFour),
        ("6/8", Self::SixEight),
    ];

    /// The name of the feature.
    #[must_use]
    pub fn name(self) -> &'static str {
        Self::NAMES.iter().find(|row| row.1 == self).map_or("", |row| row.0)
    }
}

/// A note in time, counted from the first bar line.
#[derive(Clone, Copy)]
struct Span {
    from: i64,
    to: i64,
}

impl Pattern {
    /// The features of the pattern's rhythm, in the order of [`RhythmFeature::NAMES`]; at least one.
    #[must_use]
    pub fn rhythm(&self) -> Vec<RhythmFeature> {
        let pickup = Ticks::nearest(self.pickup()).0;
        let spans: Vec<Span> = self
            .notes()
            .iter()
            .map(|step| Span { from: step.at.0 - pickup, to: step.at.0 + step.length.0 - pickup })
            .collect();
        let meter = self.meter();
        let (beat, bar) = (Ticks::nearest(meter.beat()).0, Ticks::nearest(meter.bar()).0);
        let lengths: Vec<i64> = spans.iter().map(|span| span.to - span.from).collect();
        let inner = lengths.split_last().map_or(&lengths[..], |(_, inner)| inner);
        let mixed = inner.windows(2).any(|pair| pair[0] != pair[1]);
        let late = spans.first().is_some_and(|first| first.from > -pickup);
        let rests = late || spans.windows(2).any(|pair| pair[0].to < pair[1].from);
        let mut found: Vec<RhythmFeature> = [
            (rests, RhythmFeature::Rests),
            (off_beats(&spans, beat), RhythmFeature::OffBeats),
            (spans.iter().any(|span| over(*span, bar)), RhythmFeature::OverTheBar),
            (meter != Meter::SixEight && spans.iter().any(|span| in_thirds(*span)), RhythmFeature::Triplets),
            (pickup > 0, RhythmFeature::PickUp),
            (meter == Meter::ThreeFour, RhythmFeature::ThreeFour),
            (meter == Meter::SixEight, RhythmFeature::SixEight),
        ]
        .into_iter()
        .filter_map(|(is, rhythm)| is.then_some(rhythm))
        .collect();
        if mixed {
            found.insert(0, RhythmFeature::LongAndShort);
        } else if found.is_empty() {
            found.push(RhythmFeature::Even);
        }
        found
    }
}

/// Whether a note crosses a bar line.
fn over(span: Span, bar: i64) -> bool {
    (span.from.div_euclid(bar) + 1) * bar < span.to
}

fn off_beats(spans: &[Span], beat: i64) -> bool {
    spans.iter().enumerate().any(|(n, span)| {
        let before = span.from.div_euclid(beat) * beat;
        let silent = n.checked_sub(1).is_none_or(|n| spans[n].to <= before);
        span.from != before && (span.to > before + beat || silent)
    })
}

/// Whether a note begins on a twelfth of a quarter and not on a sixteenth, as in triplets of quarters, eighths or sixteenths.
fn in_thirds(span: Span) -> bool {
    let sixteenth = Ticks::QUARTER / 4;
    span.from % sixteenth != 0 && (3 * span.from) % sixteenth == 0
}

#[cfg(test)]
mod tests {
    use crate::pattern::read;

    fn features(notes: &str, more: &str) -> String {
        let text = format!(
            "[[pattern]]\nid='a'\nname='a'\nfamily='stepwise'\nlevel=1\ntempo=[60, 90]\nnotes='{notes}'\n{more}"
        );
        let (patterns, troubles) = read(&text, "a");
        assert_eq!(troubles, []);
        patterns[0].rhythm().into_iter().map(super::RhythmFeature::name).collect::<Vec<_>>().join(", ")
    }

    #[test]
    fn a_rhythm_is_told_as_a_musician_tells_it() {
        assert_eq!(features("1 2 3 4 5 - - -", ""), "even");
        assert_eq!(features("1 - 2 3 4 - 5 6 5 -", ""), "long and short");
        assert_eq!(features(". 1 2 3 5", ""), "rests, off-beats");
        assert_eq!(features("1 2 3 5 6 5 3 2 / - - 1 - ", ""), "long and short, off-beats, over the bar");
        assert_eq!(features("1 2 3 2 3 4", "unit='triplet'"), "triplets");
        assert_eq!(features("[1 2 3] 5", "unit='quarter'"), "triplets");
        assert_eq!(features("5, / 1 2 3 1", "unit='quarter'\npickup=1"), "pick-up");
        assert_eq!(features("5, / 1 2 3 1", "pickup=1"), "off-beats, pick-up", "half a beat before the bar");
        assert_eq!(features("1 2 3 4 5 3", "meter='6/8'"), "6/8");
        assert_eq!(features("1 - 2 3 - 4", "meter='6/8'"), "long and short, 6/8");
    }
}
