//! What hands do on keys, and what cables do to it.

use crate::midi::{
    ChannelMessage, KeyMessage, KeySpan, KeyedLine, KeysBeside, LineChoice, LongHold, LongHolds, Steer, Steering,
    SteeringKey, WhichOfChord,
};
use crate::notes::{HeardNote, NoteEvent};
use crate::units::Seconds;

use KeyMessage::{AllUp, Control, Down, Up};

pub(super) const fn down(key: u8) -> KeyMessage {
    Down { key, velocity: 80 }
}

/// A note of the line: its pitch, when it began, when it was over, in milliseconds.
pub(super) type Played = (u8, i64, i64);

fn played_by(choice: LineChoice, said: &[(i64, u8, KeyMessage)]) -> Vec<Played> {
    let mut line = KeyedLine::new(choice);
    let (mut begun, mut over): (Vec<HeardNote>, Vec<HeardNote>) = (Vec::new(), Vec::new());
    let mut tell = |event: NoteEvent| match event {
        NoteEvent::On(note) => begun.push(note),
        NoteEvent::Off(note) => over.push(note),
        NoteEvent::Revised(note) => panic!("nothing is taken back: {note:?}"),
    };
    for &(ms, channel, what) in said {
        line.take(ChannelMessage { channel, what }, Seconds(ms as f64 / 1000.0), &mut tell);
    }
    line.until(Seconds(60.0), &mut tell);
    let numbers = |notes: &[HeardNote]| notes.iter().map(|note| note.number).collect::<Vec<_>>();
    assert_eq!(numbers(&begun), numbers(&over), "every note that begins ends, in its turn");
    assert!(over.iter().all(|note| note.spread.is_none() && note.confidence == 1.0));
    let ms = |at: Seconds| at.ms().round() as i64;
    over.iter().map(|note| (note.pitch.0 as u8, ms(note.onset), ms(note.release))).collect()
}

pub(super) fn played(said: &[(i64, KeyMessage)]) -> Vec<Played> {
    let said: Vec<_> = said.iter().map(|&(ms, what)| (ms, 1, what)).collect();
    played_by(LineChoice::default(), &said)
}

#[test]
fn a_line_is_the_keys_one_after_the_other() {
    let said = [(0, down(60)), (200, Up { key: 60 }), (250, down(62)), (500, Up { key: 62 })];
    assert_eq!(played(&said), [(60, 0, 200), (62, 250, 500)]);
}

#[test]
fn fingers_that_hold_over_are_a_legato_and_no_chord() {
    let said = [(0, down(64)), (250, down(62)), (310, Up { key: 64 }), (500, down(64)), (560, Up { key: 62 })];
    assert_eq!(played(&said)[..2], [(64, 0, 250), (62, 250, 500)]);
}

#[test]
fn of_a_chord_the_highest_counts_or_the_lowest_where_that_was_chosen() {
    let said = [(0, 1, down(67)), (12, 1, down(60)), (25, 1, down(64)), (300, 1, AllUp)];
    assert_eq!(played_by(LineChoice::default(), &said), [(67, 0, 300)]);
    let lowest = LineChoice { of_chord: WhichOfChord::Lowest, ..LineChoice::default() };
    assert_eq!(played_by(lowest, &said), [(60, 12, 300)]);
}

#[test]
fn a_key_that_is_brushed_on_the_way_is_not_played() {
    let said = [(0, down(61)), (15, down(60)), (22, Up { key: 61 }), (300, Up { key: 60 })];
    assert_eq!(played(&said), [(60, 15, 300)]);
}

#[test]
fn a_neighbour_that_is_touched_softly_takes_no_note_away_however_long_it_stays_down() {
    let (firm, soft) = (|key| Down { key, velocity: 72 }, |key| Down { key, velocity: 12 });
    for (at, brushed, highest) in [(10, 68, true), (29, 69, true), (10, 66, false), (29, 65, false)] {
        let said = [(0, firm(67)), (at, soft(brushed)), (at + 50, Up { key: brushed }), (270, Up { key: 67 })];
        let said = said.map(|(ms, what)| (ms, 1, what));
        let of_chord = if highest { WhichOfChord::Highest } else { WhichOfChord::Lowest };
        let choice = LineChoice { of_chord, ..LineChoice::default() };
        assert_eq!(played_by(choice, &said), [(67, 0, 270)], "{brushed} after {at} ms");
        assert_eq!((beside(choice, &said).hidden, beside(choice, &said).brushed.count()), (0, 1));
    }
    // Two keys of one strength are a chord, and so is a soft one further away.
    let said = [(0, firm(67)), (10, firm(68)), (160, Up { key: 68 }), (270, Up { key: 67 })];
    assert_eq!(played(&said), [(68, 10, 160)]);
    let said = [(0, firm(60)), (10, soft(67)), (200, Up { key: 67 }), (270, Up { key: 60 })];
    assert_eq!(played(&said), [(67, 10, 200)]);
}

#[test]
fn sixteenths_at_three_hundred_are_a_line() {
    let said: Vec<_> = (0..8).map(|n| (50 * n, down(60 + n as u8))).collect();
    let keys: Vec<u8> = played(&said).iter().map(|note| note.0).collect();
    assert_eq!(keys, [60, 61, 62, 63, 64, 65, 66, 67]);
}

#[test]
fn what_a_local_echo_says_twice_is_played_once() {
    let said =
        [(0, 1, down(60)), (4, 1, down(60)), (5, 2, down(60)), (200, 1, Up { key: 60 }), (204, 1, Up { key: 60 })];
    assert_eq!(played_by(LineChoice::default(), &said), [(60, 0, 200)]);
}

#[test]
fn a_repeated_note_is_two_notes_even_where_the_word_that_the_key_came_up_was_lost() {
    let said = [(0, down(60)), (200, down(60)), (400, Up { key: 60 })];
    assert_eq!(played(&said), [(60, 0, 200), (60, 200, 400)]);
}

#[test]
fn a_key_that_sticks_is_let_go_after_twenty_seconds_and_by_the_next_note_at_once() {
    assert_eq!(played(&[(0, down(60))]), [(60, 0, 20_000)]);
    let said = [(0, down(60)), (1000, down(72)), (1300, Up { key: 72 }), (1500, down(60)), (1600, Up { key: 60 })];
    assert_eq!(played(&said), [(60, 0, 1000), (72, 1000, 1300), (60, 1500, 1600)]);
    // A higher one that sticks hides lower ones for as long as a held note could.
    let said = [(0, down(72)), (1000, down(60)), (1300, Up { key: 60 }), (6500, down(59)), (6800, Up { key: 59 })];
    assert_eq!(played(&said), [(72, 0, 6500), (59, 6500, 6800)], "and then they are heard");
}

/// The same on the other side of middle C, where the lowest counts.
pub(super) fn mirrored(said: &[(i64, KeyMessage)]) -> Vec<Played> {
    let turned = said.iter().map(|&(ms, what)| match what {
        Down { key, velocity } => (ms, 1, Down { key: 120 - key, velocity }),
        Up { key } => (ms, 1, Up { key: 120 - key }),
        other => (ms, 1, other),
    });
    let lowest = LineChoice { of_chord: WhichOfChord::Lowest, ..LineChoice::default() };
    let line = played_by(lowest, &turned.collect::<Vec<_>>());
    line.into_iter().map(|(key, from, to)| (120 - key, from, to)).collect()
}

// That one hand holds the melody while the other plays under it: common practice.
#[test]
fn of_two_hands_only_the_one_that_counts_is_the_line() {
    let said = [
        (0, down(72)),
        (250, down(60)),
        (450, Up { key: 60 }),
        (500, down(55)),
        (510, down(52)),
        (700, Up { key: 52 }),
        (750, Up { key: 72 }),
        (900, down(74)),
        (1000, Up { key: 55 }),
        // Begins and ends under the melody, just before that moves on.
        (1250, down(57)),
        (1300, Up { key: 57 }),
        (1310, down(71)),
        (1380, Up { key: 74 }),
        (1700, Up { key: 71 }),
    ];
    let line = [(72, 0, 750), (74, 900, 1310), (71, 1310, 1700)];
    assert_eq!(played(&said), line);
    assert_eq!(mirrored(&said), line);
}

#[test]
fn a_falling_line_whose_keys_are_held_over_is_a_line_and_the_bass_that_comes_before_its_next_note_is_not() {
    let mut said: Vec<(i64, KeyMessage)> = (0..4)
        .flat_map(|n| [(300 * n, down(72 - 2 * n as u8)), (300 * n + 490, Up { key: 72 - 2 * n as u8 })])
        .collect();
    said.sort_by_key(|(ms, _)| *ms);
    let line = [(72, 0, 300), (70, 300, 600), (68, 600, 900), (66, 900, 1390)];
    assert_eq!(played(&said), line, "190 ms over");
    assert_eq!(mirrored(&said), line);
    let said = [
        (0, down(67)),
        (400, down(48)),
        (460, down(65)),
        (520, Up { key: 67 }),
        (800, Up { key: 65 }),
        (900, Up { key: 48 }),
    ];
    assert_eq!(played(&said), [(67, 0, 460), (65, 460, 800)]);
}

#[test]
fn a_note_under_a_held_key_is_known_as_soon_as_that_comes_up_and_begins_when_it_was_struck() {
    let (mut line, mut events) = (KeyedLine::new(LineChoice::default()), Vec::new());
    let mut say = |what, ms: f64| {
        let at = Seconds(ms / 1000.0);
        line.take(ChannelMessage { channel: 1, what }, at, &mut |event| events.push(event));
        line.until(at, &mut |event| events.push(event));
        line.open_since()
    };
    say(down(67), 0.0);
    assert_eq!(say(down(65), 300.0), Some(Seconds(0.3)), "nothing is known from here on");
    assert_eq!(say(Up { key: 67 }, 380.0), None);
    let NoteEvent::On(note) = *events.last().unwrap() else { panic!("{events:?}") };
    assert_eq!((note.onset, note.announced, note.pitch.0), (Seconds(0.3), Seconds(0.38), 65.0));
}

#[test]
fn notes_of_thirty_one_milliseconds_are_played_as_they_are_in_a_file() {
    let said = (0..6).flat_map(|n| [(31 * n, down(60 + n as u8)), (31 * n + 31, Up { key: 60 + n as u8 })]);
    let line = played(&said.collect::<Vec<_>>());
    assert_eq!(line[..5], [(60, 0, 31), (61, 31, 62), (62, 62, 93), (63, 93, 124), (64, 124, 155)]);
}

#[test]
fn a_pad_that_is_down_for_no_time_at_all_is_a_note() {
    let said = [(0, down(60)), (0, Up { key: 60 }), (200, down(62)), (201, Up { key: 62 })];
    assert_eq!(played(&said), [(60, 0, 40), (62, 200, 240)]);
}

#[test]
fn the_sustain_pedal_holds_no_note_of_the_line() {
    let pedal = |value| Control { number: 64, value };
    let said = [(0, pedal(127)), (10, down(60)), (200, Up { key: 60 }), (900, pedal(0))];
    assert_eq!(played(&said), [(60, 10, 200)]);
}

#[test]
fn only_the_chosen_channel_plays() {
    let choice = LineChoice { channel: Some(2), ..LineChoice::default() };
    let said = [(0, 1, down(48)), (0, 2, down(72)), (300, 2, Up { key: 72 }), (400, 10, down(36))];
    assert_eq!(played_by(choice, &said), [(72, 0, 300)]);
}

// All notes off is a word to one channel: MIDI 1.0 Detailed Specification, from memory.
#[test]
fn all_notes_off_lets_the_keys_of_its_channel_go_and_no_other() {
    let said = [(0, 1, down(72)), (100, 2, AllUp), (200, 1, down(60)), (300, 1, AllUp), (500, 1, down(59))];
    let line = played_by(LineChoice::default(), &said);
    assert_eq!(line[..2], [(72, 0, 300), (59, 500, 20_500)], "what lay under the held key was no line: {line:?}");
}

pub(super) fn beside(choice: LineChoice, said: &[(i64, u8, KeyMessage)]) -> KeysBeside {
    let mut line = KeyedLine::new(choice);
    for &(ms, channel, what) in said {
        line.take(ChannelMessage { channel, what }, Seconds(ms as f64 / 1000.0), &mut |_| ());
    }
    line.until(Seconds(60.0), &mut |_| ());
    line.beside()
}

#[test]
fn keys_that_others_hide_and_keys_that_are_brushed_are_counted_and_legato_is_neither() {
    let left_out = |said: &[(i64, KeyMessage)]| {
        let said: Vec<_> = said.iter().map(|&(ms, what)| (ms, 1, what)).collect();
        let beside = beside(LineChoice::default(), &said);
        (beside.hidden, beside.brushed.count())
    };
    let up = |key| Up { key };
    assert_eq!(left_out(&[(0, down(60)), (10, down(64)), (20, down(67)), (300, AllUp)]), (2, 0), "a chord");
    assert_eq!(left_out(&[(0, down(60)), (5, down(67)), (70, up(60)), (75, up(67))]), (1, 0), "one struck short");
    assert_eq!(left_out(&[(0, down(72)), (300, down(60)), (700, up(60)), (800, up(72))]), (1, 0), "the other hand");
    assert_eq!(left_out(&[(0, down(64)), (250, down(62)), (310, up(64)), (500, up(62))]), (0, 0), "legato");
    assert_eq!(left_out(&[(0, down(60)), (4, down(60)), (300, up(60))]), (0, 0), "said twice");
    // Brushed with the note, above it; below it for longer; in the middle of the note.
    assert_eq!(left_out(&[(0, down(61)), (15, down(60)), (22, up(61)), (300, up(60))]), (0, 1));
    assert_eq!(left_out(&[(0, down(60)), (15, down(59)), (95, up(59)), (300, up(60))]), (0, 1));
    assert_eq!(left_out(&[(0, down(60)), (200, down(59)), (225, up(59)), (500, up(60))]), (0, 1));
    assert_eq!(left_out(&[(0, down(60)), (200, down(59)), (270, up(59)), (500, up(60))]), (0, 1));
    assert_eq!(left_out(&[(0, down(60)), (200, down(59)), (320, up(59)), (500, up(60))]), (1, 0), "held .12 s");
}

#[test]
fn keys_that_are_struck_one_after_the_other_under_a_held_one_are_counted_and_a_chord_counts_once() {
    let over = |said: &[(i64, u8, KeyMessage)]| {
        beside(LineChoice::default(), said).long.over.map(|hold| (hold.key, hold.keys))
    };
    let row =
        (0..4).flat_map(|n| [(300 + 250 * n, 1, down(65 - n as u8)), (500 + 250 * n, 1, Up { key: 65 - n as u8 })]);
    let held: Vec<_> = std::iter::once((0, 1, down(67))).chain(row).collect();
    assert_eq!(over(&held), Some((67, 4)), "down from a note that is not let go");
    let chord = [(0, 1, down(72)), (300, 1, down(60)), (305, 1, down(55)), (310, 1, down(52)), (900, 1, AllUp)];
    assert_eq!(over(&chord), Some((72, 1)));
    let legato = [(0, 1, down(64)), (250, 1, down(62)), (310, 1, Up { key: 64 }), (500, 1, Up { key: 62 })];
    assert_eq!(over(&legato), None, "legato hides nothing");
}

#[test]
fn of_a_falling_line_whose_keys_are_each_held_over_the_next_no_key_is_said_to_be_held_over_all() {
    // Each key is held for .28 s over the next, and is up before the one after that.
    let row = |from: i64, keys: &[u8]| {
        let said = (0..)
            .zip(keys.iter().copied())
            .flat_map(|(n, key)| [(from + 312 * n, 1, down(key)), (from + 312 * n + 594, 1, Up { key })]);
        let mut said: Vec<_> = said.collect();
        said.sort_by_key(|(at, ..)| *at);
        said
    };
    let LongHolds { over, chain } = beside(LineChoice::default(), &row(0, &[67, 65, 64, 62, 60])).long;
    assert_eq!(over.map(|hold| hold.keys), Some(1), "the most that any one key hides");
    assert_eq!(chain, Some(LongHold { key: 67, keys: 4 }));
    // The left hand does so under one held note of the melody, which hides all of it.
    let mut two = row(300, &[55, 53, 52, 50]);
    two.insert(0, (0, 1, down(72)));
    let LongHolds { over, chain } = beside(LineChoice::default(), &two).long;
    let told = LongHolds { over, chain }.told();
    assert_eq!(told, LongHolds { over: Some(LongHold { key: 72, keys: 4 }), chain: None });
}

#[test]
fn the_channels_that_play_are_known_whichever_is_chosen_and_a_local_echo_is_no_second_hand() {
    let two = [(0, 1, down(72)), (250, 2, down(48)), (400, 2, Up { key: 48 }), (500, 1, Up { key: 72 })];
    let channels = |choice, said: &[_]| beside(choice, said).channels.numbers().collect::<Vec<_>>();
    assert_eq!(channels(LineChoice::default(), &two), [1, 2]);
    assert_eq!(channels(LineChoice { channel: Some(2), ..LineChoice::default() }, &two), [1, 2]);
    assert_eq!(channels(LineChoice { channel: Some(5), ..LineChoice::default() }, &two), [1, 2]);
    let echo = [(0, 1, down(60)), (4, 2, down(60)), (200, 1, Up { key: 60 }), (204, 2, Up { key: 60 })];
    assert_eq!(channels(LineChoice::default(), &echo), [1]);
}

#[test]
fn of_a_split_keyboard_only_the_keys_that_were_chosen_are_played_and_a_taught_key_steers_from_the_others() {
    let steering = Steering { pause: Some(SteeringKey::Key(21)), ..Steering::default() };
    let choice = LineChoice { keys: Some(KeySpan::new(60, 84)), steering, ..LineChoice::default() };
    let said = [
        (0, 1, down(59)),
        (100, 1, down(60)),
        (300, 1, Up { key: 60 }),
        (350, 1, down(84)),
        (500, 1, down(85)),
        (600, 1, Up { key: 84 }),
        (700, 2, down(40)),
    ];
    assert_eq!(played_by(choice, &said), [(60, 100, 300), (84, 350, 600)]);
    let left = beside(choice, &said);
    assert_eq!((left.outside, left.hidden, left.channels.numbers().collect::<Vec<_>>()), (3, 0, vec![1]));
    let mut line = KeyedLine::new(choice);
    line.take(ChannelMessage { channel: 1, what: down(21) }, Seconds(0.0), &mut |_| ());
    assert_eq!(line.asked(), Some(Steer::Pause));
    let plays = |key| line.plays(ChannelMessage { channel: 1, what: down(key) });
    assert_eq!([59, 60, 84, 85, 21].map(plays), [false, true, true, false, false], "what is not heard is not sounded");
}

#[test]
fn a_cable_that_is_pulled_out_ends_the_note_and_a_chord_that_gathers_is_not_lost() {
    let (mut line, mut events) = (KeyedLine::new(LineChoice::default()), Vec::new());
    line.take(ChannelMessage { channel: 1, what: down(60) }, Seconds(1.0), &mut |event| events.push(event));
    assert_eq!(line.open_since(), Some(Seconds(1.0)));
    line.let_go(Seconds(1.02), &mut |event| events.push(event));
    assert!(
        matches!(events[..], [NoteEvent::On(_), NoteEvent::Off(note)] if note.release == Seconds(1.02)),
        "{events:?}"
    );
    assert_eq!(line.open_since(), None);
}

#[test]
fn a_key_and_a_pedal_that_were_taught_ask_for_something_and_are_not_played() {
    let steering = Steering { pause: Some(SteeringKey::Key(21)), again: Some(SteeringKey::Pedal(67)), misheard: None };
    let (mut line, mut events) = (KeyedLine::new(LineChoice { steering, ..LineChoice::default() }), Vec::new());
    let mut say = |what, ms: f64| {
        line.take(ChannelMessage { channel: 1, what }, Seconds(ms / 1000.0), &mut |event| events.push(event));
        (line.asked(), line.asked())
    };
    assert_eq!(say(down(21), 0.0), (Some(Steer::Pause), None), "once");
    assert_eq!(say(Up { key: 21 }, 300.0).0, None);
    assert_eq!(say(Control { number: 64, value: 127 }, 400.0).0, None, "the sustain pedal");
    assert_eq!(say(Control { number: 67, value: 127 }, 500.0).0, Some(Steer::Again));
    assert_eq!(say(Control { number: 67, value: 0 }, 600.0).0, None);
    assert!(events.is_empty(), "{events:?}");
}
