use crate::pattern::Ticks;

/// A length as a note shows it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct NoteValue {
    /// Name of the note value (MusicXML 4.0, note-type-value).
    pub value: &'static str,
    /// Number of dots after the note: 0 or 1.
    pub dots: u8,
    /// The tuplet, as so many notes in the time of so many plain ones: (3, 2) for a triplet. `None` for a plain value.
    pub tuplet: Option<(i64, i64)>,
}

/// Note values from the longest, in ticks.
const VALUES: [(&str, i64); 7] = [
    ("whole", 4 * Ticks::QUARTER),
    ("half", 2 * Ticks::QUARTER),
    ("quarter", Ticks::QUARTER),
    ("eighth", Ticks::QUARTER / 2),
    ("16th", Ticks::QUARTER / 4),
    ("32nd", Ticks::QUARTER / 8),
    ("64th", Ticks::QUARTER / 16),
];

/// How one note shows `length`, in ticks, if one note can: a plain, dotted, or grouped value.
pub(super) fn note_value(length: i64) -> Option<NoteValue> {
    let ratios = [(1, 1), (3, 2), (5, 4), (6, 4), (7, 4), (9, 8)];
    for (many, time) in ratios {
        for (value, ticks) in VALUES {
            for (dots, dotted) in [(0, ticks), (1, ticks + ticks / 2)] {
                if length * many == dotted * time {
                    let tuplet = (many != time).then_some((many, time));
                    return Some(NoteValue { value, dots, tuplet });
                }
            }
        }
    }
    None
}

/// `length`, in ticks, as notes to be tied together, each of which can be shown; a remainder that no note shows stays as it is.
pub(super) fn tied(length: i64) -> Vec<(i64, Option<NoteValue>)> {
    if let Some(value) = note_value(length) {
        return vec![(length, Some(value))];
    }
    let mut parts = Vec::new();
    let mut left = length;
    while left > 0 {
        let whole = note_value(left).map(|_| left);
        let part = whole.or_else(|| VALUES.iter().map(|row| row.1).find(|ticks| *ticks <= left)).unwrap_or(left);
        parts.push((part, note_value(part)));
        left -= part;
    }
    parts
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pattern::Unit;

    #[test]
    fn every_unit_is_one_note_value() {
        // Names of note values in MusicXML 4.0.
        let name = |unit: Unit| note_value(unit.ticks().0).map(|s| (s.value, s.tuplet));
        assert_eq!(name(Unit::Whole), Some(("whole", None)));
        assert_eq!(name(Unit::Sixteenth), Some(("16th", None)));
        assert_eq!(name(Unit::Triplet), Some(("eighth", Some((3, 2)))));
        assert_eq!(name(Unit::QuarterTriplet), Some(("quarter", Some((3, 2)))));
        assert_eq!(note_value(3 * Ticks::QUARTER).map(|s| (s.value, s.dots)), Some(("half", 1)));
    }

    #[test]
    fn what_one_note_cannot_show_is_tied_and_adds_up() {
        for eighths in 1..40 {
            let length = eighths * Ticks::QUARTER / 2;
            let parts = tied(length);
            assert_eq!(parts.iter().map(|part| part.0).sum::<i64>(), length);
            assert!(parts.iter().all(|part| part.1.is_some()));
        }
        assert_eq!(tied(5 * Ticks::QUARTER / 2).len(), 2);
        assert_eq!(tied(7), [(7, None)]);
    }
}
