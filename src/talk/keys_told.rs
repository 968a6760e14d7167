//! What is said of keys that are no notes of the line: at a port as of a file, for a microphone hears nothing of it.

use crate::exchange::{HeldOver, HeldReading, MidiTold};
use crate::midi::{KeySlip, KeySlips, KeysBeside, LineChoice, LongHold, LongHolds, WhichOfChord, two_registers};
use crate::music::Concert;
use crate::words::Page;
use crate::words::numbers::{list, numbered};

/// The lowest and the highest key of a piano.
const LOWEST: i32 = 21;
const HIGHEST: i32 = 108;

/// What was left out and which channels play, a clause each; none where one line was played and all of it heard. Keys have their names on
/// the page.
pub fn beside(choice: LineChoice, beside: &KeysBeside, page: &Page) -> Vec<String> {
    clauses(choice, beside, &|key| page.pitch(Concert(i32::from(key.key))), page)
}

/// As [`beside`], with when each of the keys went down that were brushed, from the start of a file.
pub fn beside_in_file(choice: LineChoice, beside: &KeysBeside, page: &Page) -> Vec<String> {
    clauses(choice, beside, &|key| format!("{} at {:.2} s", page.pitch(Concert(i32::from(key.key))), key.at.0), page)
}

fn clauses(choice: LineChoice, beside: &KeysBeside, named: &dyn Fn(KeySlip) -> String, page: &Page) -> Vec<String> {
    let several = (beside.hidden > 0).then(|| several_keys(choice).to_owned());
    let long = long(beside.long, page);
    let brushed = slipped(&beside.brushed, named, "brushed beside a note and left out");
    let bounced =
        slipped(&beside.bounced, named, "struck twice within .03 s and counted once, as a key does that bounces");
    let told = [channels(choice, beside), several, long, brushed, bounced, outside(beside.outside)];
    told.into_iter().flatten().collect()
}

/// What is said where keys were left out of a line.
const fn several_keys(choice: LineChoice) -> &'static str {
    match choice.of_chord {
        WhichOfChord::Highest => "several keys sound at once; the highest counts (midi.chord in your settings)",
        WhichOfChord::Lowest => "several keys sound at once; the lowest counts (midi.chord in your settings)",
    }
}

/// Which channel is heard where another plays too, and how to choose.
fn channels(choice: LineChoice, beside: &KeysBeside) -> Option<String> {
    let others: Vec<u8> = beside.channels.numbers().filter(|channel| Some(*channel) != choice.channel).collect();
    let (last, before) = others.split_last()?;
    let listed = before.iter().map(u8::to_string).collect::<Vec<_>>().join(", ");
    match (choice.channel, listed.is_empty()) {
        (Some(heard), true) => {
            Some(format!("MIDI channel {heard} is heard (midi.channel in your settings), and channel {last} plays too"))
        }
        (Some(heard), false) => Some(format!(
            "MIDI channel {heard} is heard (midi.channel in your settings), and channels {listed} and {last} play too"
        )),
        (None, true) => None,
        (None, false) => Some(format!(
            "MIDI channels {listed} and {last} play, and are heard as one line; where each hand has a channel of its own, channel = {} in \
             [midi] of your settings chooses one",
            others[0]
        )),
    }
}

/// The clause on keys that are held over many others: on the one key that is, or on a row of keys of which each is held over the next.
fn long(long: LongHolds, page: &Page) -> Option<String> {
    let LongHolds { over, chain } = long.told();
    let key = |hold: &LongHold| page.pitch(Concert(i32::from(hold.key)));
    let one = over.map(|hold| format!("{} is held over {} others that follow, and hides them", key(&hold), hold.keys));
    one.or_else(|| {
        let from = |hold: LongHold| (key(&hold), hold.keys);
        chain.map(from).map(|(first, keys)| {
            format!("from {first} on, each of {keys} keys is held over the next for .2 s or more, and hides it")
        })
    })
}

/// The clause on keys that slipped, and how: each is named, or of many the last ones.
fn slipped(keys: &KeySlips, named: &dyn Fn(KeySlip) -> String, how: &str) -> Option<String> {
    let count = keys.count() as usize;
    let names: Vec<String> = keys.last().map(named).collect();
    let were = if count == 1 { "was" } else { "were" };
    match count {
        0 => None,
        _ if names.len() == count => Some(format!("{} {were} {how}", list(&names))),
        _ => Some(format!("{} {were} {how}, the last of them {}", numbered(count, "key"), list(&names))),
    }
}

fn outside(keys: u32) -> Option<String> {
    let notes = (keys > 0).then(|| numbered(keys as usize, "note"))?;
    Some(format!("{notes} on keys beyond those of midi.keys in your settings left out"))
}

/// The clauses on keys that never come up, or too late: each key is named.
pub fn not_let_go(told: &MidiTold, page: &Page) -> Vec<String> {
    let ends = |keys: usize| if keys == 1 { "it ends with the next key" } else { "each ends with the next key" };
    let are = |keys: &[Concert]| format!("{} {}", names(keys, page), if keys.len() == 1 { "is" } else { "are" });
    let some = |keys: &[Concert], told: &dyn Fn() -> String| (!keys.is_empty()).then(told);
    let (never, late, last) = (&told.never_let_go, &told.let_go_at_end, &told.last_not_let_go);
    let never = some(never, &|| format!("{} never let go: {}", are(never), ends(never.len())));
    let late = some(late, &|| {
        format!("{} let go only where the file ends, long after the others: {}", are(late), ends(late.len()))
    });
    let last = some(last, &|| {
        let they = if last.len() == 1 { "it lasts" } else { "they last" };
        format!("at the end {} never let go: the file does not say how long {they}", are(last))
    });
    [never, late, last].into_iter().flatten().collect()
}

/// The names of keys in a row; of more than five the first four, and how many more there are.
pub fn names(keys: &[Concert], page: &Page) -> String {
    let shown = if keys.len() > 5 { 4 } else { keys.len() };
    let mut names: Vec<String> = keys[..shown].iter().map(|key| page.pitch(*key)).collect();
    names.extend((shown < keys.len()).then(|| format!("{} more", keys.len() - shown)));
    match names.split_last() {
        Some((last, before)) if !before.is_empty() => format!("{} and {last}", before.join(", ")),
        _ => names.concat(),
    }
}

/// The clause on two registers between which a line leaps to and fro, as [`registers`] has it.
pub fn two_hands(pitches: &[i32], choice: LineChoice, beside: &KeysBeside, page: &Page, kept: &Page) -> Option<String> {
    registers(two_registers(pitches)?, pitches, choice, beside, page, kept)
}

/// The clause on two registers between which a line goes to and fro, by the highest key of the lower one and the lowest of the upper one, and
/// the setting that leaves the other one out: the registers are named on the page, the setting by `kept`, the page by which the settings name
/// keys. None where keys are chosen already, or two channels play, of which one can be chosen.
pub fn registers(
    (top, bottom): (i32, i32),
    pitches: &[i32],
    choice: LineChoice,
    beside: &KeysBeside,
    page: &Page,
    kept: &Page,
) -> Option<String> {
    if choice.keys.is_some() || beside.channels.numbers().count() > 1 {
        return None;
    }
    let (low, high, which) = match choice.of_chord {
        WhichOfChord::Highest => (bottom, HIGHEST.max(*pitches.iter().max()?), "upper"),
        WhichOfChord::Lowest => (LOWEST.min(*pitches.iter().min()?), top, "lower"),
    };
    let [low, high] = [low, high].map(|key| kept.pitch(Concert(key)));
    let [top, bottom] = [top, bottom].map(|key| page.pitch(Concert(key)));
    let other = match (page.transposition() == kept.transposition(), kept.reading.concert) {
        (true, _) => String::new(),
        (false, true) => " (sounding names)".to_owned(),
        (false, false) => format!(" (names on the page of the {} in your settings)", kept.instrument.name),
    };
    Some(format!(
        "the line goes to and fro between the keys up to {top} and those from {bottom} on; where these are two hands, \
         keys = \"{low}-{high}\"{other} in [midi] of your settings hears the {which} one alone"
    ))
}

/// The clause on a key or a chord that is held over most of what follows, and what becomes of them; `left_out` where the line is taken
/// without it.
pub fn held_over(held: &HeldOver, left_out: bool, page: &Page) -> String {
    let (chord, notes) = (names(&held.chord, page), numbered(held.keys as usize, "note"));
    let one = held.chord.len() == 1;
    let what = match (left_out, one, held.hides) {
        (true, true, _) => "; the line is taken without it",
        (true, false, _) => "; the line is taken without them",
        (false, true, true) => ", and hides them",
        (false, true, false) => ", and counts as a note before them",
        (false, false, true) => ", and hide them",
        (false, false, false) => ", and count as a note before them",
    };
    let (is, it) = if one { ("is", "it") } else { ("are", "them") };
    format!("{chord} {is} held over the {notes} after {it}{what}")
}

/// The clause on a reading of a file other than the usual one; `named` tells whether it was said of keys already that they are held over
/// others, and `taken` what is done with the line.
pub fn read_otherwise(reading: &HeldReading, named: &dyn Fn(&[Concert]) -> bool, page: &Page, taken: &str) -> String {
    match reading {
        HeldReading::LetGo => format!("keys are held over the next ones; {taken} as if each were let go with the next"),
        HeldReading::OneOfOctaves => {
            "two hands play in octaves, not quite together; one of them is judged (midi.chord in your settings)"
                .to_owned()
        }
        HeldReading::Without(keys) if named(keys) => format!("{taken} without {}", names(keys, page)),
        HeldReading::Without(keys) => {
            let (is, it) = if keys.len() == 1 { ("is", "it") } else { ("are", "them") };
            format!("{} {is} held over most of what follows; {taken} without {it}", names(keys, page))
        }
    }
}

/// The clause on drums that are left out.
pub fn drums(told: &MidiTold) -> Option<String> {
    let notes = (told.drums > 0).then(|| numbered(told.drums as usize, "note"))?;
    Some(format!(
        "{notes} on channel 10 left out, which is drums in most files; where it is your line, channel = 10 in [midi] of your settings \
         hears it alone"
    ))
}

/// The clause on keys that go down a second time before the message came that they were up.
pub fn struck_again(told: &MidiTold, page: &Page) -> Option<String> {
    let keys = &told.struck_again;
    let goes = if keys.len() == 1 { "goes" } else { "go" };
    (!keys.is_empty()).then(|| format!("{} {goes} down again before the word that the key is up", names(keys, page)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::midi::ChannelSet;
    use crate::music::{Reading, instrument};
    use crate::units::Seconds;

    fn page(id: &str) -> Page {
        Page::new(instrument(id).unwrap().clone(), Reading::default())
    }

    fn beside(choice: LineChoice, beside: &KeysBeside) -> Vec<String> {
        super::beside(choice, beside, &page("piano"))
    }

    fn on(channels: &[u8]) -> KeysBeside {
        let mut set = ChannelSet::default();
        channels.iter().for_each(|channel| set.add(*channel));
        KeysBeside { channels: set, ..KeysBeside::default() }
    }

    #[test]
    fn a_second_hand_on_another_channel_is_said_with_how_to_choose() {
        let chosen = LineChoice { channel: Some(1), ..LineChoice::default() };
        assert_eq!(
            beside(LineChoice::default(), &on(&[1, 2])),
            [
                "MIDI channels 1 and 2 play, and are heard as one line; where each hand has a channel of its own, channel = 1 in [midi] of \
              your settings chooses one"
            ]
        );
        assert!(beside(LineChoice::default(), &on(&[1, 3, 16]))[0].starts_with("MIDI channels 1, 3 and 16 play"));
        let heard = "MIDI channel 1 is heard (midi.channel in your settings), and channel";
        assert_eq!(beside(chosen, &on(&[1, 2])), [format!("{heard} 2 plays too")]);
        assert_eq!(beside(chosen, &on(&[2, 4])), [format!("{heard}s 2 and 4 play too")]);
        assert!(beside(chosen, &on(&[1])).is_empty() && beside(LineChoice::default(), &on(&[2])).is_empty());
    }

    #[test]
    fn what_is_left_out_is_counted() {
        let brushed = |keys: &[u8]| {
            let mut brushed = KeySlips::default();
            (1..).zip(keys).for_each(|(at, key)| brushed.add(KeySlip { key: *key, at: Seconds(f64::from(at)) }));
            KeysBeside { brushed, ..KeysBeside::default() }
        };
        let left = KeysBeside { hidden: 2, outside: 12, ..brushed(&[66]) };
        assert_eq!(
            beside(LineChoice::default(), &left),
            [
                "several keys sound at once; the highest counts (midi.chord in your settings)",
                "F#4 was brushed beside a note and left out",
                "12 notes on keys beyond those of midi.keys in your settings left out",
            ]
        );
        let in_file = |keys: &[u8]| beside_in_file(LineChoice::default(), &brushed(keys), &page("piano"));
        assert_eq!(in_file(&[66, 63]), ["F#4 at 1.00 s and Eb4 at 2.00 s were brushed beside a note and left out"]);
        assert_eq!(
            in_file(&[60, 61, 62, 63, 64, 65]),
            [
                "6 keys were brushed beside a note and left out, the last of them D4 at 3.00 s, Eb4 at 4.00 s, E4 at 5.00 s and F4 at 6.00 s"
            ]
        );
    }

    #[test]
    fn a_key_that_is_held_over_many_is_named_on_the_page_and_so_is_the_first_of_a_row_that_is() {
        let hold = |key, keys| Some(LongHold { key, keys });
        let said =
            |long, on| super::beside(LineChoice::default(), &KeysBeside { long, ..KeysBeside::default() }, &page(on));
        let one = LongHolds { over: hold(70, 4), chain: hold(67, 4) };
        assert_eq!(said(one, "piano"), ["Bb4 is held over 4 others that follow, and hides them"]);
        // A trumpet in Bb sounds a whole step below its page.
        assert_eq!(said(one, "trumpet"), ["C5 is held over 4 others that follow, and hides them"]);
        let row = LongHolds { over: hold(67, 2), chain: hold(67, 4) };
        assert_eq!(
            said(row, "piano"),
            ["from G4 on, each of 4 keys is held over the next for .2 s or more, and hides it"]
        );
        assert!(said(LongHolds { over: hold(67, 2), chain: hold(67, 2) }, "piano").is_empty());
    }

    #[test]
    fn a_hand_in_the_gaps_of_the_other_is_told_with_the_setting_that_leaves_it_out() {
        let row = [60, 48, 62, 64, 55, 65, 67, 48, 65, 64, 55, 62, 60];
        let said = |choice, beside: &KeysBeside| two_hands(&row, choice, beside, &page("piano"), &page("piano"));
        let alone = KeysBeside::default();
        let upper = said(LineChoice::default(), &alone).unwrap();
        assert!(upper.contains("up to G3 and those from C4 on") && upper.contains("keys = \"C4-C8\""), "{upper}");
        let lowest = LineChoice { of_chord: WhichOfChord::Lowest, ..LineChoice::default() };
        assert!(said(lowest, &alone).unwrap().contains("keys = \"A0-G3\" in [midi] of your settings hears the lower"));
        assert_eq!(said(LineChoice::default(), &on(&[1, 2])), None);
        // Settings of a trumpeter in Bb, whose page names keys a whole step higher.
        let by_trumpet = two_hands(&row, LineChoice::default(), &alone, &page("piano"), &page("trumpet")).unwrap();
        assert!(by_trumpet.contains("those from C4 on"), "{by_trumpet}");
        let setting = "keys = \"D4-D8\" (names on the page of the trumpet in Bb in your settings)";
        assert!(by_trumpet.contains(setting), "{by_trumpet}");
    }

    #[test]
    fn every_key_that_is_not_let_go_is_named_once_with_where_it_ends() {
        let keys = |keys: &[i32]| keys.iter().map(|key| Concert(*key)).collect::<Vec<_>>();
        let said = |never: &[i32], late: &[i32], last: &[i32]| {
            let (never_let_go, let_go_at_end, last_not_let_go) = (keys(never), keys(late), keys(last));
            let told = MidiTold { never_let_go, let_go_at_end, last_not_let_go, ..MidiTold::default() };
            not_let_go(&told, &page("piano")).join("; ")
        };
        assert_eq!(said(&[], &[], &[]), "");
        assert_eq!(said(&[72], &[], &[]), "C5 is never let go: it ends with the next key");
        assert_eq!(
            said(&[67, 65, 64, 62], &[], &[60]),
            "G4, F4, E4 and D4 are never let go: each ends with the next key; at the end C4 is never let go: the file does not say how \
             long it lasts"
        );
        assert!(said(&[72, 71, 69, 67, 65, 64], &[], &[]).starts_with("C5, B4, A4, G4 and 2 more are never"));
        assert!(said(&[], &[84], &[]).starts_with("C6 is let go only where the file ends, long after the others"));
    }
}
