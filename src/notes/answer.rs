use crate::units::{Seconds, Tempo};

/// A note that is held for this long is an answer in itself: "go on", or "this one".
pub const HELD_NOTE: Seconds = Seconds(1.0);

/// Longest time for which the first note of an answer is waited for where a cue asked for the answer.
const TO_BEGIN: Seconds = Seconds(5.0);
/// An answer that a cue asked for is cut off this long after it should have ended, or after its newest note began, whichever is later.
const CUT_OFF: Seconds = Seconds(20.0);
/// An answer that began before it was due goes on until it was due, or until this time after its last release, whichever comes
/// first.
const EARLY: Seconds = Seconds(2.0);

/// Silence that ends an answer, in beats, and the least it lasts: once all that was asked was played; once an answer in tempo is a beat
/// past its end; anywhere else.
const COMPLETE: (f64, Seconds) = (1.0, Seconds(0.4));
const PAST_ITS_END: (f64, Seconds) = (1.5, Seconds(0.6));
const ANYWHERE: (f64, Seconds) = (2.0, Seconds(0.8));

/// What silence says about an answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Silence {
    /// Nothing was played yet, and there is still time.
    Waiting,
    /// The answer goes on.
    Sounding,
    /// The answer is over.
    Ended,
    /// Nothing was played in time.
    Never,
}

/// What is known of an answer so far.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct AnswerSoFar {
    /// The latest release of the notes of the answer; of a note that sounds, the release in the newest event of that note. `None` before
    /// the first note.
    pub last: Option<Seconds>,
    /// When the newest note of the answer began; `None` before the first note.
    pub newest: Option<Seconds>,
    /// Whether a note of the answer sounds.
    pub sounding: bool,
    /// Whether every note that was asked has been played.
    pub complete: bool,
}

/// Where an answer ends: the one rule for the drill and for a line that is learnt.
///
/// Silence ends an answer: one beat (at least .4 s) once everything asked was played; a beat and a half (at least .6 s) once an answer in
/// tempo is a beat past its end; else two beats (at least .8 s, and at least a beat more than the longest rest that was asked). An answer
/// in which a note drones on is cut off 20 s after it should have ended, or after its newest note began where that is later: whoever still
/// begins notes is heard to the end, while a held note or a hum does not put the end off. An answer that has not begun in time counts as
/// never played.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AnswerEnd {
    from: Seconds,
    to_begin: Seconds,
    beat: Seconds,
    longest_rest: Seconds,
    /// Where an asked line that begins at `from` ends; `None` where nothing was asked.
    should_end: Option<Seconds>,
    in_tempo: bool,
}

impl AnswerEnd {
    /// The end of an answer that is waited for from `from` on: the answer to a line that lasts `length` at `tempo` and whose
    /// longest rest is `longest_rest`. `in_tempo`: the answer was to begin at `from` exactly.
    #[must_use]
    pub fn asked(from: Seconds, tempo: Tempo, length: Seconds, longest_rest: Seconds, in_tempo: bool) -> Self {
        Self { from, to_begin: TO_BEGIN, beat: tempo.beat(), longest_rest, should_end: Some(from + length), in_tempo }
    }

    /// The end of a line of which nothing is known beforehand: two beats of silence at `tempo` end the line, and its first note is
    /// waited for `to_begin` long.
    #[must_use]
    pub fn unasked(from: Seconds, tempo: Tempo, to_begin: Seconds) -> Self {
        let (beat, longest_rest) = (tempo.beat(), Seconds(0.0));
        Self { from, to_begin, beat, longest_rest, should_end: None, in_tempo: false }
    }

    /// What the silence says at `now`.
    #[must_use]
    pub fn at(&self, now: Seconds, answer: AnswerSoFar) -> Silence {
        let Some(last) = answer.last else {
            return if now.0 > self.from.0 + self.to_begin.0 { Silence::Never } else { Silence::Waiting };
        };
        let newest = answer.newest.unwrap_or(self.from);
        if self.should_end.is_some_and(|end| now.0 > end.max(newest).0 + CUT_OFF.0) {
            return Silence::Ended;
        }
        let begun = now.0 > self.from.0.min(last.0 + EARLY.0);
        let over = !answer.sounding && begun && now.0 - last.0 >= self.silence(now, answer.complete).0;
        if over { Silence::Ended } else { Silence::Sounding }
    }

    /// The silence that ends the answer.
    fn silence(&self, now: Seconds, complete: bool) -> Seconds {
        let past_its_end = self.in_tempo && self.should_end.is_some_and(|end| now.0 > end.0 + self.beat.0);
        let longest = |(beats, at_least): (f64, Seconds)| (self.beat * beats).max(at_least);
        match (complete, past_its_end) {
            (true, _) => longest(COMPLETE),
            (false, true) => longest(PAST_ITS_END),
            (false, false) => longest(ANYWHERE).max(self.beat + self.longest_rest),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SILENT: AnswerSoFar = AnswerSoFar { last: None, newest: None, sounding: false, complete: false };

    fn released(last: f64) -> AnswerSoFar {
        AnswerSoFar { last: Some(Seconds(last)), newest: Some(Seconds(last - 0.5)), ..SILENT }
    }

    /// Four beats are asked in tempo at quarter = 60, due at second 10.
    fn four_beats(longest_rest: f64, in_tempo: bool) -> AnswerEnd {
        AnswerEnd::asked(Seconds(10.0), Tempo(60.0), Seconds(4.0), Seconds(longest_rest), in_tempo)
    }

    #[test]
    fn a_line_played_for_oneself_ends_two_beats_after_its_last_note() {
        let line = AnswerEnd::unasked(Seconds(1.0), Tempo(60.0), Seconds(120.0));
        let sounding = AnswerSoFar { sounding: true, ..released(1.6) };
        assert_eq!(line.at(Seconds(50.0), sounding), Silence::Sounding, "a note held for long is no end");
        assert_eq!(line.at(Seconds(3.9), released(2.0)), Silence::Sounding);
        assert_eq!(line.at(Seconds(4.0), released(2.0)), Silence::Ended);
    }

    #[test]
    fn at_a_fast_tempo_a_breath_of_less_than_eight_tenths_ends_nothing() {
        let line = AnswerEnd::unasked(Seconds(0.0), Tempo(240.0), Seconds(120.0));
        assert_eq!(line.at(Seconds(1.7), released(1.0)), Silence::Sounding);
        assert_eq!(line.at(Seconds(1.8), released(1.0)), Silence::Ended);
    }

    #[test]
    fn an_answer_that_does_not_begin_in_five_seconds_never_does() {
        assert_eq!(four_beats(0.0, true).at(Seconds(15.0), SILENT), Silence::Waiting);
        assert_eq!(four_beats(0.0, true).at(Seconds(15.1), SILENT), Silence::Never);
    }

    #[test]
    fn whoever_has_played_everything_waits_one_beat_for_what_comes_next() {
        let whole = AnswerSoFar { complete: true, ..released(13.0) };
        assert_eq!(four_beats(0.0, true).at(Seconds(13.9), whole), Silence::Sounding);
        assert_eq!(four_beats(0.0, true).at(Seconds(14.0), whole), Silence::Ended);
        let fast = AnswerEnd::asked(Seconds(10.0), Tempo(240.0), Seconds(1.0), Seconds(0.0), true);
        let whole = AnswerSoFar { complete: true, ..released(11.0) };
        assert_eq!(fast.at(Seconds(11.3), whole), Silence::Sounding, "four tenths at least");
        assert_eq!(fast.at(Seconds(11.4), whole), Silence::Ended);
    }

    #[test]
    fn a_broken_off_answer_in_tempo_ends_sooner_once_its_own_end_is_past() {
        assert_eq!(
            four_beats(0.0, true).at(Seconds(14.9), released(13.0)),
            Silence::Sounding,
            "two beats before its end"
        );
        assert_eq!(
            four_beats(0.0, true).at(Seconds(15.1), released(13.6)),
            Silence::Ended,
            "a beat and a half after it"
        );
        assert_eq!(
            four_beats(0.0, false).at(Seconds(15.1), released(13.6)),
            Silence::Sounding,
            "free answers take their time"
        );
    }

    #[test]
    fn the_rest_inside_a_line_ends_no_answer() {
        assert_eq!(four_beats(2.0, true).at(Seconds(13.5), released(11.0)), Silence::Sounding);
        assert_eq!(four_beats(2.0, true).at(Seconds(14.0), released(11.0)), Silence::Ended);
    }

    #[test]
    fn an_answer_that_will_not_end_is_cut_off_after_twenty_seconds() {
        let droning = AnswerSoFar { sounding: true, ..released(14.0) };
        assert_eq!(four_beats(0.0, true).at(Seconds(34.0), droning), Silence::Sounding);
        assert_eq!(four_beats(0.0, true).at(Seconds(34.1), droning), Silence::Ended);
    }

    #[test]
    fn a_last_note_that_is_held_and_held_does_not_put_off_the_end_and_one_that_begins_does() {
        // It began with the fourth beat; its pitch was looked at again at second 30.
        let held =
            AnswerSoFar { last: Some(Seconds(30.0)), newest: Some(Seconds(13.0)), sounding: true, complete: true };
        assert_eq!(four_beats(0.0, true).at(Seconds(34.0), held), Silence::Sounding, "a long fermata is listened to");
        assert_eq!(four_beats(0.0, true).at(Seconds(34.1), held), Silence::Ended);
        let slow = AnswerSoFar { newest: Some(Seconds(30.0)), complete: false, ..held };
        assert_eq!(four_beats(0.0, false).at(Seconds(50.0), slow), Silence::Sounding, "whoever still plays is heard");
        assert_eq!(four_beats(0.0, false).at(Seconds(50.1), slow), Silence::Ended);
    }

    #[test]
    fn a_note_before_the_beat_is_not_the_whole_answer_before_the_beat_has_come() {
        let early = AnswerSoFar { complete: true, ..released(8.5) };
        assert_eq!(four_beats(0.0, true).at(Seconds(9.9), early), Silence::Sounding);
        assert_eq!(four_beats(0.0, true).at(Seconds(10.1), early), Silence::Ended);
    }
}
