//! A player finds the patterns that they ask for in the library, by their old names too.

use earfirst::outside::cue::Form;
use earfirst::outside::music::{WrittenKey, instrument};
use earfirst::outside::pattern::{Library, PatternId};
use earfirst::outside::report::recheck;
use earfirst::outside::session::{Event, Session};

use crate::desk::Desk;
use crate::rehearsal::{Rehearsal, faithful, settings};

fn rows(said: &str) -> Vec<&str> {
    said.lines().filter(|line| line.contains(" notes  ")).collect()
}

#[test]
fn a_page_of_the_list_fits_a_screen_and_says_where_it_goes_on() {
    let desk = Desk::new("page");
    let first = desk.done("patterns list");
    assert!(first.lines().count() <= 24, "{first}");
    assert!(first.lines().all(|line| line.chars().count() <= 80), "{first}");
    assert!(first.contains("page 1 of") && first.contains("--page 2 goes on"), "{first}");
    let second = desk.done("patterns list --page 2");
    assert!(rows(&second).len() == 20 && rows(&first).iter().all(|row| !second.contains(row)), "{second}");
    let whole = desk.done("patterns list --all");
    assert_eq!(rows(&whole).len(), Library::builtin().patterns().len());
    // A row that is too wide takes two lines of a screen; a page of twenty, the line below it and the prompt still fit.
    for page in rows(&whole).chunks(20) {
        let lines: usize = page.iter().map(|row| row.chars().count().div_ceil(80)).sum();
        assert!(lines <= 21, "{lines} lines of a screen: {page:?}");
    }
    let (code, said) = desk.run("patterns list --page 99");
    assert!(code == 2 && said.contains("there is no page 99"), "{code}: {said}");
}

#[test]
fn a_player_finds_patterns_by_rhythm_chord_level_and_what_they_train() {
    let desk = Desk::new("sought");
    let listed = |more: &str| desk.done(&format!("patterns list --all {more}"));
    for (rhythm, least) in
        [("off-beats", 40), ("over-the-bar", 15), ("triplets", 20), ("3/4", 14), ("6/8", 8), ("rests", 20)]
    {
        assert!(rows(&listed(&format!("--rhythm {rhythm}"))).len() >= least, "{rhythm}");
    }
    let narrowed = listed("--rhythm off-beats --chord m7 --level 3");
    assert!(!rows(&narrowed).is_empty() && rows(&narrowed).iter().all(|row| row.starts_with("3 ")), "{narrowed}");
    let blues = listed("--trains blues");
    assert!(blues.contains("trading-fours-on-a-blues") && blues.contains("blues-scale-up"), "{blues}");
    assert!(listed("--trains changes").contains("rhythm-changes-bridge"));
    // An octave and a fifth hold no scale of two octaves, in whatever key.
    let narrow = listed("--fits --instrument flute --range C4-G5");
    assert!(!narrow.contains("two-octaves") && narrow.contains("major-tetrachord"), "{narrow}");
    assert!(listed("--fits --instrument flute --range C4-C7").contains("major-scale-two-octaves-up"));
}

#[test]
fn what_is_like_a_pattern_trains_the_same_and_comes_first() {
    let desk = Desk::new("like");
    let like = desk.done("patterns list --like surround-the-third");
    let first = rows(&like)[0];
    assert!(first.contains("enclosure-of-the-"), "{like}");
    assert!(!rows(&like).iter().any(|row| row.contains(" enclosure-of-the-third ")), "not itself: {like}");
    let shown = desk.done("patterns show enclosure-of-the-third");
    assert!(shown.contains("same notes") && shown.contains("enclosure of the root: half step above"), "{shown}");
}

#[test]
fn an_old_sitting_with_a_pattern_that_has_a_new_name_still_replays() {
    let trumpet = instrument("trumpet").unwrap();
    let keys = ["C", "F"].map(|key| trumpet.concert_key(WrittenKey::parse(key).unwrap()));
    for (now, id, title) in [
        ("surround-the-third", "surround-the-third", "surround the third"),
        ("triads-on-iv-and-bvii", "triads-on-iv-and-v", "triads on IV and V"),
    ] {
        let mut room = Rehearsal::new(settings(now, Form::FirstNote, &keys), faithful(0.5));
        room.run_until(|room| room.shown.last().is_some_and(|(_, shown)| shown.answers >= 4));
        let mut old = room.events.clone();
        for event in &mut old {
            if let Event::Cued { cue, .. } = event {
                (cue.pattern, cue.title) = (PatternId(id.to_owned()), title.to_owned());
            }
        }
        let session = Session::from_events(&old).unwrap();
        assert_eq!(recheck(&session), [], "{id}");
        assert_eq!(Library::builtin().find(id).unwrap().id.0, now);
    }
}
