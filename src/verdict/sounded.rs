use crate::notes::HeardNote;

/// A shorter note than this may be a crack, a scoop or a click.
const SHORT_S: f64 = 0.085;
/// Two pieces of one note lie no further apart than this.
const SPLIT_GAP_S: f64 = 0.045;
/// A new attempt begins after at least this much silence.
const RESTART_GAP_S: f64 = 0.15;
/// A note that gives way to the next within this much runs into it.
const RUN_ON_S: f64 = 0.012;

/// A heard note as the alignment looks at it: bare seconds on the stream's clock, pitch as a fractional note number.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sounded {
    /// Index into the slice that was given to the judge, whatever its order.
    pub heard: usize,
    pub onset_s: f64,
    pub length_s: f64,
    pub pitch: f64,
    /// Looks like a by-product of playing: unsure, or short and either not very sure or run into the next note.
    pub stray: bool,
    /// Goes on with the pitch of the note before, after next to no gap: the second piece of a note that broke.
    pub piece: bool,
    /// Enough silence before it for a new attempt.
    pub after_gap: bool,
}

/// The heard notes in order of their onsets (the order of arrival does not matter), each with its looks.
pub(super) fn in_order(heard: &[HeardNote]) -> Vec<Sounded> {
    let mut order: Vec<usize> = (0..heard.len()).collect();
    order.sort_by(|&a, &b| heard[a].onset.0.total_cmp(&heard[b].onset.0).then(heard[a].number.cmp(&heard[b].number)));
    let mut quiet_since = f64::NEG_INFINITY;
    let mut sounded: Vec<Sounded> = Vec::with_capacity(heard.len());
    for (place, &index) in order.iter().enumerate() {
        let note = &heard[index];
        let next_onset = order.get(place + 1).map(|&next| heard[next].onset.0);
        let before = place.checked_sub(1).map(|last| &heard[order[last]]);
        let short = note.length().0 < SHORT_S;
        let runs_on = next_onset.is_some_and(|next| next - note.release.0 < RUN_ON_S);
        sounded.push(Sounded {
            heard: index,
            onset_s: note.onset.0,
            length_s: note.length().0,
            pitch: note.pitch.0,
            stray: note.confidence < 0.4 || (short && (note.confidence < 0.6 || runs_on)),
            piece: before
                .is_some_and(|b| note.onset.0 - b.release.0 < SPLIT_GAP_S && (note.pitch.0 - b.pitch.0).abs() < 0.5),
            after_gap: note.onset.0 - quiet_since >= RESTART_GAP_S,
        });
        quiet_since = quiet_since.max(note.release.0);
    }
    sounded
}
