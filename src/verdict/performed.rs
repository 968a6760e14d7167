use crate::notes::HeardNote;

/// A note shorter than this may be a crack, a scoop or a click, unless the tempo asks for notes as short.
const SHORT_S: f64 = 0.085;
/// A note that lasts at least this part of the shortest distance asked for is not short.
const SHORT_PART: f64 = 0.42;
/// Confidence below which any note is in doubt.
const UNSURE: f64 = 0.2;
/// Confidence below which a short note is in doubt.
const SHORT_UNSURE: f64 = 0.5;
/// Two pieces of one note have no longer gap between them than this.
const SPLIT_GAP_S: f64 = 0.045;
/// A new attempt begins after at least this much silence.
const RESTART_GAP_S: f64 = 0.15;
/// A note runs into the next where no more than this lies between its end and the next onset.
pub(super) const RUN_ON_S: f64 = 0.025;

/// What follows a heard note, as far as the stream has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum FollowedBy {
    Nothing,
    Note,
    /// A note after silence enough for a new attempt.
    AfterGap,
}

/// A heard note as the alignment looks at it: bare seconds on the stream's clock, pitch as a fractional note number. The alignment
/// knows nothing else of what follows a note, so while a note is equal to what it was, its column in the table stays valid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct PerformedNote {
    /// Index of the note in the slice that was given to the judge, whatever the order of that slice.
    pub heard: usize,
    /// When the note begins, seconds.
    pub onset_s: f64,
    /// How long the note sounds, seconds.
    pub length_s: f64,
    /// Note number with its fraction.
    pub pitch: f64,
    /// Whether the note looks like a by-product of playing: the ear is unsure of it, or it is short and runs into the next note, or
    /// it is short and the ear is not very sure of it.
    pub stray: bool,
    /// Whether the ear is unsure of the note; for a short note the bound is higher.
    pub unsure: bool,
    /// Whether the note goes on with the pitch of the note before, after next to no gap: it is the second piece of a note that
    /// broke.
    pub piece: bool,
    /// What follows the note.
    pub next: FollowedBy,
}

/// The heard notes in order of their onsets (the order of arrival does not matter), each with what the alignment must know of it;
/// `shortest_s` is the shortest distance between two notes asked for.
pub(super) fn in_order(heard: &[HeardNote], shortest_s: f64) -> Vec<PerformedNote> {
    let short_s = SHORT_S.min(SHORT_PART * shortest_s);
    let mut order: Vec<usize> = (0..heard.len()).collect();
    order.sort_by(|&a, &b| heard[a].onset.0.total_cmp(&heard[b].onset.0).then(heard[a].number.cmp(&heard[b].number)));
    let mut quiet_since = f64::NEG_INFINITY;
    let mut sounded: Vec<PerformedNote> = Vec::with_capacity(heard.len());
    for (place, &index) in order.iter().enumerate() {
        let note = &heard[index];
        let next_onset = order.get(place + 1).map(|&next| heard[next].onset.0);
        let before = place.checked_sub(1).map(|last| &heard[order[last]]);
        let short = note.length().0 < short_s;
        let runs_on = next_onset.is_some_and(|next| next - note.release.0 < RUN_ON_S);
        quiet_since = quiet_since.max(note.release.0);
        let unsure = note.confidence < UNSURE || (short && note.confidence < SHORT_UNSURE);
        sounded.push(PerformedNote {
            heard: index,
            onset_s: note.onset.0,
            length_s: note.length().0,
            pitch: note.pitch.0,
            stray: unsure || (short && runs_on),
            unsure,
            piece: before
                .is_some_and(|b| note.onset.0 - b.release.0 < SPLIT_GAP_S && (note.pitch.0 - b.pitch.0).abs() < 0.5),
            next: match next_onset {
                None => FollowedBy::Nothing,
                Some(next) if next - quiet_since >= RESTART_GAP_S => FollowedBy::AfterGap,
                Some(_) => FollowedBy::Note,
            },
        });
    }
    sounded
}
