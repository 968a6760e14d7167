//! Every screen is drawn in memory from the snapshots of a drill: what a player sees, and what not.

use earfirst::outside::coach::{Goals, Holds, Reason};
use earfirst::outside::cue::{Cue, Form};
use earfirst::outside::drill::{Command, Face, KeyRow, Snapshot, ToScreen};
use earfirst::outside::music::{ConcertKey, Reading, instrument};
use earfirst::outside::room::{Side, SoundFault};
use earfirst::outside::session::PauseCause;
use earfirst::outside::tui::{Appearance, Model, Plain, PressedKey, ScreenEvent, ScreenRequest, draw, three};
use earfirst::outside::units::{Beats, Seconds, Tempo};
use earfirst::outside::verdict::NoteInTime;
use earfirst::outside::words::Page;
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::style::Color;

use crate::rehearsal::{Rehearsal, faithful, settings, silent};

const ALL: [ConcertKey; 12] = ConcertKey::FIFTHS;
const PATTERN: &str = "five-note-row-up-and-down";

pub fn look(colour: bool) -> Appearance {
    let page = Page::new(instrument("trumpet").unwrap().clone(), Reading::default());
    Appearance { page, range: None, today: None, colour }
}

pub fn drawn(snapshot: &Snapshot, width: u16, height: u16, colour: bool) -> (String, bool) {
    let mut model = Model::new(look(colour));
    model.update(ScreenEvent::Shown(ToScreen::Snapshot(Box::new(snapshot.clone()))));
    let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
    terminal.draw(|frame| draw(frame, &model)).unwrap();
    let buffer = terminal.backend().buffer();
    let coloured = buffer.content.iter().any(|cell| cell.fg != Color::Reset || cell.bg != Color::Reset);
    let rows = buffer.content.chunks(usize::from(width));
    (rows.map(|row| row.iter().map(ratatui::buffer::Cell::symbol).collect::<String>() + "\n").collect(), coloured)
}

/// The first snapshot of a sitting for which `wanted` is true.
fn shown(form: Form, wanted: impl Fn(&Snapshot) -> bool) -> Snapshot {
    let mut room = Rehearsal::new(settings(PATTERN, form, &ALL), faithful(0.5));
    room.run_until(|room| room.shown.iter().any(|(_, snapshot)| wanted(snapshot)));
    room.shown.into_iter().map(|(_, snapshot)| snapshot).find(wanted).unwrap()
}

#[test]
fn the_screen_stands_before_the_devices_have_opened() {
    let model = Model::new(look(false));
    let mut terminal = Terminal::new(TestBackend::new(80, 24)).unwrap();
    terminal.draw(|frame| draw(frame, &model)).unwrap();
    let text: String = terminal.backend().buffer().content.iter().map(ratatui::buffer::Cell::symbol).collect();
    assert!(text.contains("getting ready") && text.contains("q end"), "{text}");
}

#[test]
fn a_page_turn_pedal_pauses_asks_again_and_says_that_a_kept_verdict_was_misheard() {
    let asks = |snapshot: &Snapshot, key| {
        let mut model = Model::new(look(false));
        model.update(ScreenEvent::Shown(ToScreen::Snapshot(Box::new(snapshot.clone()))));
        model.update(ScreenEvent::Key(key))
    };
    let (next, before) = (PressedKey::Asks(Command::Pause), PressedKey::PageUp);
    let listening = shown(Form::FirstNote, |s| matches!(s.face, Face::Listen { .. }));
    assert_eq!(asks(&listening, next), Some(ScreenRequest::Tell(Command::Pause)));
    assert_eq!(asks(&listening, before), Some(ScreenRequest::Tell(Command::Again)));
    let mut room = Rehearsal::new(settings(PATTERN, Form::FirstNote, &ALL), faithful(0.5));
    room.run_until(|room| matches!(room.face(), Face::Verdict { .. }));
    room.command(Command::Pause);
    assert!(matches!(room.face(), Face::Verdict { stays: true, .. }));
    assert_eq!(asks(room.snapshot(), before), Some(ScreenRequest::Tell(Command::Misheard)));
    assert_eq!(asks(room.snapshot(), next), Some(ScreenRequest::Tell(Command::Pause)), "and goes on");
}

#[test]
fn a_narrow_window_names_the_keys_that_matter_most_and_cuts_no_word() {
    let mut room = Rehearsal::new(settings(PATTERN, Form::FirstNote, &ALL), faithful(0.5));
    room.run_until(|room| room.cues.len() >= 2);
    room.command(Command::Pause);
    let snapshot = room.shown.pop().unwrap().1;
    let foot = |width| drawn(&snapshot, width, 20, false).0.trim_end().lines().last().unwrap().trim().to_owned();
    assert!(foot(80).ends_with("n another · o what came out"), "{}", foot(80));
    assert!(foot(60).starts_with("space goes on · q end · ?") && foot(60).ends_with("n another"), "{}", foot(60));
}

#[test]
fn while_the_cue_sounds_nothing_of_what_is_asked_is_drawn() {
    let snapshot = shown(Form::FirstNote, |s| matches!(s.face, Face::Listen { beats_left: None }) && s.cue.is_some());
    let (text, _) = drawn(&snapshot, 80, 24, true);
    assert!(text.contains("listen"), "{text}");
    assert!(!text.contains("asked ") && !text.contains("cents"), "{text}");
}

#[test]
fn the_count_in_is_a_large_number_and_the_key_stands_beside_it() {
    let snapshot = shown(Form::Pattern, |s| matches!(s.face, Face::Listen { beats_left: Some(3) }));
    let (text, _) = drawn(&snapshot, 80, 24, false);
    assert!(text.contains("count-in"), "{text}");
    assert!(text.lines().filter(|line| line.contains('█')).count() >= 6, "very large letters:\n{text}");
}

#[test]
fn the_player_knows_they_are_heard_and_sees_nothing_else() {
    let snapshot = shown(Form::FirstNote, |s| matches!(s.face, Face::YourTurn { heard: true, .. }));
    let (text, _) = drawn(&snapshot, 80, 24, true);
    assert!(text.contains("your turn") && text.contains("heard"), "{text}");
    assert!(!text.contains("cents") && !text.contains("played"), "no live note, no live cents:\n{text}");
}

#[test]
fn the_verdict_stands_asked_over_played_with_its_sentence_and_what_comes_next() {
    let snapshot =
        shown(Form::FirstNote, |s| matches!(s.face, Face::Verdict { settled: true, .. }) && s.next.is_some());
    let (text, _) = drawn(&snapshot, 80, 24, true);
    for word in ["asked", "played", "cents", "next", "asked at quarter ="] {
        assert!(text.contains(word), "{word} is missing:\n{text}");
    }
    let sentence = &snapshot.judged.as_ref().unwrap().sentence;
    let start: String = sentence.chars().take(20).collect();
    assert!(text.contains(&start), "{sentence}\n{text}");
    let asked: Vec<&str> =
        text.lines().find(|l| l.trim_start().starts_with("asked ")).unwrap().split_whitespace().skip(1).collect();
    let played: Vec<&str> =
        text.lines().find(|l| l.trim_start().starts_with("played")).unwrap().split_whitespace().skip(1).collect();
    assert_eq!(asked, played, "a faithful answer reads as it was asked");
}

#[test]
fn where_the_rhythm_was_another_asked_and_played_stand_above_one_another_in_time() {
    let mut snapshot =
        shown(Form::FirstNote, |s| matches!(s.face, Face::Verdict { settled: true, .. }) && s.next.is_some());
    let without = drawn(&snapshot, 80, 24, false).0;
    assert!(!without.lines().any(|line| line.trim_start().starts_with("beat")), "{without}");
    let note = |n: usize| NoteInTime {
        asked: Beats(0.5 * n as f64),
        played: Some(Beats(if n % 2 == 1 { 0.5 * n as f64 + 0.25 } else { 0.5 * n as f64 })),
    };
    let judged = snapshot.judged.as_mut().unwrap();
    judged.in_time = (0..9).map(note).collect();
    for (width, height) in [(80, 24), (60, 20)] {
        let (text, _) = drawn(&snapshot, width, height, false);
        let after: Vec<&str> =
            text.lines().map(str::trim).skip_while(|line| !line.starts_with("beat")).take(3).collect();
        let marks = |line: &str| -> Vec<usize> {
            line.chars().enumerate().filter(|(_, mark)| *mark == '▌').map(|(at, _)| at).collect()
        };
        let (asked, played) = (marks(after[1]), marks(after[2]));
        assert!(after[0].starts_with("beat        1 ") && asked.len() == 9 && played.len() == 9, "{text}");
        assert!((0..9).all(|n| if n % 2 == 1 { played[n] > asked[n] } else { played[n] == asked[n] }), "{text}");
        assert!(text.contains("played") && text.contains("next"), "{text}");
    }
    let mut plain = Plain::new(look(false));
    let lines = plain.lines(&snapshot);
    assert!(
        lines.iter().any(|line| line == "beats asked 1 1.5 2 2.5 3 3.5 4 4.5 5; played 1 1.8 2 2.8 3 3.8 4 4.8 5"),
        "{lines:?}"
    );
}

#[test]
fn the_player_is_told_in_full_why_the_next_key_comes_and_what_to_check_where_it_only_fails() {
    let mut snapshot =
        shown(Form::FirstNote, |s| matches!(s.face, Face::Verdict { settled: true, .. }) && s.next.is_some());
    if let Some(next) = &mut snapshot.next {
        (next.key, next.reason) = (ConcertKey::FIFTHS[2], Reason::Rested { cues: 8, passed: 0 });
    }
    let why = "E: asked 8 times today in this pattern, none passed. Check the sound, or slow it by hand; it comes seldom \
               for the rest of today.";
    for (width, height) in [(80, 24), (60, 20)] {
        let (text, _) = drawn(&snapshot, width, height, true);
        let words: Vec<&str> = text.split_whitespace().collect();
        assert!(words.join(" ").contains(&format!("next {why}")), "{text}");
    }
    let lines = Plain::new(look(false)).lines(&snapshot);
    assert!(lines.contains(&format!("next · {why}")), "{lines:?}");
}

#[test]
fn the_strip_shows_the_twelve_written_keys_in_fifths_with_the_asked_one_in_brackets() {
    let snapshot = shown(Form::FirstNote, |s| matches!(s.face, Face::YourTurn { .. }));
    let (text, _) = drawn(&snapshot, 80, 24, false);
    let row = text.lines().find(|line| line.trim_start().starts_with("key")).expect("the strip");
    let bare = row.replace(['[', ']', '='], "");
    let keys: Vec<&str> = bare.split_whitespace().skip(1).collect();
    assert_eq!(keys, "C G D A E B F# Db Ab Eb Bb F".split(' ').collect::<Vec<_>>());
    assert_eq!(row.matches('[').count(), 1, "{row}");
}

#[test]
fn without_colour_no_cell_is_coloured_and_the_words_are_the_same() {
    let snapshot = shown(Form::FirstNote, |s| matches!(s.face, Face::Verdict { settled: true, .. }));
    let (plain, coloured) = drawn(&snapshot, 80, 24, false);
    let (bright, _) = drawn(&snapshot, 80, 24, true);
    assert!(!coloured);
    assert_eq!(plain, bright, "colour only repeats what text says");
}

#[test]
fn sixty_by_twenty_keeps_the_key_the_verdict_and_two_rows_of_the_strip() {
    let turn = shown(Form::FirstNote, |s| matches!(s.face, Face::YourTurn { heard: false, .. }));
    let (text, _) = drawn(&turn, 60, 20, true);
    assert!(text.contains("your turn") && text.contains("[") && text.contains("reflex"), "{text}");
    let verdict = shown(Form::FirstNote, |s| matches!(s.face, Face::Verdict { settled: true, .. }) && s.next.is_some());
    let (text, _) = drawn(&verdict, 60, 20, true);
    assert!(text.contains("asked") && text.contains("next"), "{text}");
}

#[test]
fn a_tiny_window_asks_for_room_and_nothing_breaks() {
    let snapshot = shown(Form::FirstNote, |s| matches!(s.face, Face::Verdict { settled: true, .. }));
    let (text, _) = drawn(&snapshot, 40, 10, true);
    assert!(text.contains("at least 60"), "{text}");
    for (width, height) in [(1, 1), (200, 60), (60, 20), (79, 23)] {
        drawn(&snapshot, width, height, true);
    }
}

#[test]
fn a_pause_says_why_what_to_do_and_how_it_goes_on() {
    let mut room = Rehearsal::new(settings(PATTERN, Form::FirstNote, &ALL), silent());
    room.run_until(|room| matches!(room.face(), Face::Paused { .. }));
    let (text, _) = drawn(room.snapshot(), 80, 24, true);
    assert!(text.contains("play any note when ready") && text.contains("hold it for a second"), "{text}");
    room.trouble(Some(SoundFault::Lost(Side::Input)));
    let mut lost = room.snapshot().clone();
    lost.face = Face::Paused { cause: PauseCause::Device, until: None };
    lost.trouble = Some(SoundFault::Lost(Side::Input));
    let (text, _) = drawn(&lost, 80, 24, true);
    assert!(text.contains("has stopped") && text.contains("goes on by itself"), "{text}");
}

#[test]
fn the_end_shows_the_keys_before_and_after_and_up_to_three_sentences() {
    let mut short = settings(PATTERN, Form::FirstNote, &ALL);
    short.planned = Some(Seconds(240.0));
    let mut room = Rehearsal::new(short, faithful(0.4));
    room.run(600.0);
    let (text, _) = drawn(room.snapshot(), 80, 24, true);
    assert!(text.contains("tempo held in each key (quarter =), before this sitting and now"), "{text}");
    assert!(
        ["before  ", "now  "].iter().all(|row| text.lines().any(|line| line.trim_start().starts_with(row))),
        "{text}"
    );
    assert!(text.contains("Chosen most often") && text.contains("Best tempo held: from quarter = "), "{text}");
}

#[test]
fn at_the_end_keys_that_are_equal_are_named_together_and_only_answers_are_counted() {
    let at_rest = shown(Form::FirstNote, |s| s.answers > 0);
    let told = |answers: &[u32], tempi: &[f64]| {
        let mut end = at_rest.clone();
        for (n, row) in end.keys.iter_mut().enumerate() {
            row.answers_today = answers.get(n).copied().unwrap_or(0);
            (row.reached, row.holds) = (tempi.get(n).copied().map(Tempo), None);
        }
        end.before = end.keys.iter().map(|row| KeyRow { reached: None, ..*row }).collect();
        three(&look(true), &end).join(" ")
    };
    // The rows stand in the order of sounding keys: C, G, D, A, E; a trumpet reads them D, A, E, B, F#.
    assert_eq!(told(&[3, 1, 2], &[]), "Chosen most often, three times: D.");
    assert_eq!(told(&[2, 2, 1], &[]), "Chosen most often, twice: D, A.");
    assert_eq!(told(&[1, 1, 1], &[]), "No key stands out.");
    assert_eq!(told(&[2, 2, 2, 2, 1], &[]), "No key stands out.");
    assert_eq!(
        told(&[1, 1, 1, 1, 1], &[72.2, 71.9, 60.0, 72.0, 72.0]),
        "Best tempo held: from quarter = 60 (E) to 72 (four keys)."
    );
    let mut done = at_rest.clone();
    done.all_hold = Some((Holds::Freely, Goals { tempo: Tempo(144.0), reflex: Seconds(0.8) }));
    assert_eq!(
        three(&look(true), &done)[0],
        "All twelve keys hold. Raise the goal to quarter = 151, or take the next pattern."
    );
    assert_eq!(told(&[0, 0, 0], &[72.0, 60.0, 72.0]), "No key was answered yet.", "asked and left unanswered");
}

#[test]
fn a_fault_that_comes_back_is_named_once_and_again_at_the_end() {
    let mut short = settings(PATTERN, Form::FirstNote, &ALL);
    short.planned = Some(Seconds(240.0));
    let third_note_low = |cue: &Cue, end: Seconds, _: Option<Seconds>| {
        let low = |n: usize| if n == 2 { 1.0 } else { 0.0 };
        let notes = cue.line.notes.iter().enumerate();
        let (at, lasts) = (|beats| end.0 + 0.5 + cue.tempo.lasting(beats).0, |beats| 0.9 * cue.tempo.lasting(beats).0);
        notes.map(|(n, note)| (at(note.at), lasts(note.length), f64::from(note.pitch.0) - low(n))).collect()
    };
    let mut room = Rehearsal::new(short, Box::new(third_note_low));
    room.run(600.0);
    let mut page = Plain::new(look(false));
    let lines: Vec<String> = room.shown.iter().flat_map(|(_, shown)| page.lines(shown)).collect();
    let fault = "The third note was a half step low in all";
    let end = lines.iter().position(|line| line.starts_with("end")).unwrap();
    let (during, after) = lines.split_at(end);
    assert_eq!(during.iter().filter(|line| line.starts_with(fault)).count(), 1, "{during:?}");
    assert!(after[1].contains(&format!(": {fault} twelve keys.")), "{after:?}");
    let (text, _) = drawn(room.snapshot(), 80, 24, true);
    assert!(text.split_whitespace().collect::<Vec<_>>().join(" ").contains(fault), "{text}");
}

#[test]
fn the_help_page_lists_the_keys_and_the_caution() {
    let mut model = Model::new(look(true));
    model.update(ScreenEvent::Shown(ToScreen::Snapshot(Box::new(shown(Form::FirstNote, |s| s.cue.is_some())))));
    model.update(ScreenEvent::Key(PressedKey::Help));
    let mut terminal = Terminal::new(TestBackend::new(80, 24)).unwrap();
    terminal.draw(|frame| draw(frame, &model)).unwrap();
    let text: String = terminal.backend().buffer().content.iter().map(ratatui::buffer::Cell::symbol).collect();
    assert!(text.contains("page-down") && text.contains("Stop when something hurts"));
}

#[test]
fn plain_lines_tell_the_same_story_once() {
    let mut room = Rehearsal::new(settings(PATTERN, Form::Pattern, &ALL), faithful(0.01));
    room.run_until(|room| room.cues.len() >= 3);
    let mut plain = Plain::new(look(false));
    let lines: Vec<String> = room.shown.iter().flat_map(|(_, snapshot)| plain.lines(snapshot)).collect();
    let text = lines.join("\n");
    assert_eq!(text.matches("listen · ").count(), 3, "{text}");
    assert!(text.matches("your turn").count() >= 2, "{text}");
    assert!(text.contains("count of four") && text.contains("\nnext · "), "{text}");
}

#[test]
fn a_waltz_is_counted_in_with_three() {
    let mut room = Rehearsal::new(settings("chromatic-waltz", Form::Pattern, &ALL), faithful(0.01));
    room.run_until(|room| room.cues.len() >= 2);
    let mut plain = Plain::new(look(false));
    let lines: Vec<String> = room.shown.iter().flat_map(|(_, snapshot)| plain.lines(snapshot)).collect();
    let text = lines.join("\n");
    assert!(text.contains("count of three") && text.contains("count · 1\ncount · 2\ncount · 3"), "{text}");
}

#[test]
fn a_phrase_that_is_met_has_its_parts_named_once_it_was_answered_and_never_before() {
    let named = "half steps, then skips";
    let mut room =
        Rehearsal::new(settings("chromatic-joined-to-triad-joined-to-scale", Form::Pattern, &ALL), faithful(0.0));
    room.run_until(|room| room.cues.len() >= 6);
    let mut met = 0;
    for (_, shown) in &room.shown {
        let told = shown.judged.as_ref().is_some_and(|judged| !judged.parts.is_empty());
        let stands = told && matches!(shown.face, Face::Verdict { settled: true, .. });
        let (text, _) = drawn(shown, 80, 24, false);
        assert_eq!(text.contains(named), stands, "{text}");
        met += u32::from(stands);
    }
    assert!(met >= 3);
    let mut page = Plain::new(look(false));
    let lines: Vec<String> = room.shown.iter().flat_map(|(_, shown)| page.lines(shown)).collect();
    let told = lines.iter().filter(|line| line.starts_with("made of") && line.contains(named)).count();
    assert_eq!(told, 3, "at each of its three first answers: {lines:?}");
}

#[test]
fn what_is_wrong_with_a_midi_instrument_is_told_whole_and_an_uneven_cable_above_the_keys() {
    let mut snapshot = shown(Form::FirstNote, |s| s.answers > 0);
    let before = snapshot.face;
    for fault in [
        SoundFault::Unplugged,
        SoundFault::MidiTaken,
        SoundFault::MidiForbidden,
        SoundFault::MidiFailed,
        SoundFault::CueXruns,
    ] {
        (snapshot.face, snapshot.trouble) = (Face::Paused { cause: PauseCause::Device, until: None }, Some(fault));
        for (width, height) in [(80, 24), (60, 20)] {
            let (text, _) = drawn(&snapshot, width, height, true);
            let missing = fault.what().split(' ').chain(fault.mend().split(' ')).find(|word| !text.contains(word));
            assert!(missing.is_none(), "{missing:?}: {text}");
        }
    }
    (snapshot.face, snapshot.trouble) = (before, Some(SoundFault::Uneven(17)));
    let said = "MIDI arrives unevenly (17 ms): chords may come apart; close other programs";
    let (text, _) = drawn(&snapshot, 80, 24, true);
    assert!(text.contains(said), "{text}");
    let mut plain = Plain::new(look(false));
    assert!(plain.lines(&snapshot).iter().any(|line| line == said));
    snapshot.trouble = Some(SoundFault::Uneven(21));
    assert!(!plain.lines(&snapshot).iter().any(|line| line.contains("unevenly")), "told once");
    for (fault, said) in [
        (SoundFault::TwoChannels(1, 2), "two MIDI channels play as one (1 and 2): set midi.channel to hear one"),
        (
            SoundFault::OtherChannel(2, 1),
            "another MIDI channel plays, unheard (2, not 1): see midi.channel in settings",
        ),
    ] {
        snapshot.trouble = Some(fault);
        let (text, _) = drawn(&snapshot, 80, 24, true);
        assert!(text.contains(said), "{text}");
        assert!(Plain::new(look(false)).lines(&snapshot).iter().any(|line| line == said));
    }
}

#[test]
fn whoever_plays_keys_is_not_asked_about_a_microphone() {
    let mut room = Rehearsal::new(settings(PATTERN, Form::FirstNote, &ALL), silent());
    room.run_until(|room| matches!(room.face(), Face::Paused { .. }));
    let mut snapshot = room.snapshot().clone();
    snapshot.by_midi = true;
    let (text, _) = drawn(&snapshot, 80, 24, true);
    assert!(text.contains("is it the right port?") && !text.contains("microphone"), "{text}");
}
