//! What is said of keys that are no notes of the line: at a port as of a file, for a microphone hears nothing of it.

use crate::exchange::HeldOver;
use crate::midi::{KeysBeside, LineChoice, MANY_UNDER, WhichOfChord};
use crate::music::{Concert, NoteNames, PitchClass, Tonality, Written, spell_in};
use crate::words::numbers::numbered;

/// What was left out and which channels play, a clause each; none where one line was played and all of it heard.
pub fn beside(choice: LineChoice, beside: &KeysBeside) -> Vec<String> {
    let several = (beside.hidden > 0).then(|| several_keys(choice).to_owned());
    let told =
        [channels(choice, beside), several, held(beside.under), brushed(beside.brushed), outside(beside.outside)];
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
            "MIDI channels {listed} and {last} play, and are heard as one line; channel = {} in [midi] of your settings chooses one",
            others[0]
        )),
    }
}

fn held(under: u32) -> Option<String> {
    (under >= MANY_UNDER).then(|| format!("a key is held over {under} others that follow, and hides them"))
}

fn brushed(keys: u32) -> Option<String> {
    let were = if keys == 1 { "was" } else { "were" };
    let keys = (keys > 0).then(|| numbered(keys as usize, "key"))?;
    Some(format!("{keys} {were} brushed beside a note and left out"))
}

fn outside(keys: u32) -> Option<String> {
    let keys = (keys > 0).then(|| numbered(keys as usize, "key"))?;
    Some(format!("{keys} beyond those of midi.keys in your settings left out"))
}

/// The sentence on keys that never come up: the first is named, by its sounding name.
pub fn never_let_go(keys: &[Concert], names: NoteNames) -> Option<String> {
    let first = key_name(*keys.first()?, names);
    Some(match keys.len() - 1 {
        0 => format!("{first} is never let go: it ends with the next key"),
        more => format!("{first} and {} are never let go: each ends with the next key", numbered(more, "more key")),
    })
}

/// The clause on a key that is held over all that follow.
pub fn held_over(held: HeldOver, names: NoteNames) -> String {
    format!(
        "{} is held over the {} after it, and hides them",
        key_name(held.key, names),
        numbered(held.keys as usize, "key")
    )
}

/// The sounding name of a key.
fn key_name(key: Concert, names: NoteNames) -> String {
    names.with_octave(spell_in(Written(key.0), Tonality::major(PitchClass::new(0), false)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::midi::ChannelSet;

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
                "MIDI channels 1 and 2 play, and are heard as one line; channel = 1 in [midi] of your settings chooses one"
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
        let left = KeysBeside { hidden: 2, brushed: 1, outside: 12, ..KeysBeside::default() };
        assert_eq!(
            beside(LineChoice::default(), &left),
            [
                "several keys sound at once; the highest counts (midi.chord in your settings)",
                "1 key was brushed beside a note and left out",
                "12 keys beyond those of midi.keys in your settings left out",
            ]
        );
        let under = |under| beside(LineChoice::default(), &KeysBeside { under, ..KeysBeside::default() });
        assert_eq!(under(4), ["a key is held over 4 others that follow, and hides them"]);
        assert!(under(2).is_empty());
        let two = KeysBeside { brushed: 2, ..KeysBeside::default() };
        assert_eq!(beside(LineChoice::default(), &two), ["2 keys were brushed beside a note and left out"]);
    }

    #[test]
    fn a_key_that_is_never_let_go_is_named_once_however_many_there_are() {
        let said = |keys: &[i32]| {
            never_let_go(&keys.iter().map(|key| Concert(*key)).collect::<Vec<_>>(), NoteNames::default())
        };
        assert_eq!(said(&[]), None);
        assert_eq!(said(&[72]).unwrap(), "C5 is never let go: it ends with the next key");
        assert_eq!(said(&[72, 60]).unwrap(), "C5 and 1 more key are never let go: each ends with the next key");
    }
}
