//! A comment is added to a record after the record's last event, and the program still takes the record for the same sitting.

use std::fs;

use earfirst::outside::files::{KeepSound, Places, SessionFolder, add_comment, commented, read_sessions, survey};
use earfirst::outside::report::{review, sittings_to_text};
use earfirst::outside::session::{Comment, Event, Session, read, replay};

use crate::records::kept::Fresh;
use crate::records::made;

fn comment(cue: Option<u32>, text: &str) -> Comment {
    Comment { written: "2026-11-30T10:00:00+01:00".to_owned(), cue, text: text.to_owned() }
}

fn text_of(session: &Session) -> String {
    sittings_to_text(std::slice::from_ref(session))
}

/// A finished sitting with its sound, in an empty folder.
fn finished(fresh: &Fresh) -> std::path::PathBuf {
    let mut live = SessionFolder::begin(&Places::at(&fresh.0), &made::began(), KeepSound::All);
    for event in &made::sitting(3)[1..] {
        if let Event::Answered(answer) = event {
            let (_, count) = made::answer(answer.cue).sound.unwrap();
            live.sound(&(0..count).map(|n| (n as f32 * 0.05).sin() * 0.5).collect::<Vec<_>>());
        }
        live.record(event);
    }
    live.finish(&text_of).unwrap().unwrap()
}

#[test]
fn a_word_stands_after_the_last_event_and_changes_no_figure() {
    let fresh = Fresh::new("word-back");
    let path = finished(&fresh);
    let read_one = || read_sessions(std::slice::from_ref(&path)).sessions.remove(0);
    let before = read_one();
    let said = comment(Some(2), "Breathe before the turn.");
    add_comment(&path, &said, &text_of).unwrap();
    let after = read_one();
    assert_eq!(after.damage, None);
    assert_eq!(after.events[..before.events.len()], before.events[..]);
    assert_eq!(after.events[before.events.len()..], [Event::Commented(said.clone())]);
    assert_eq!(replay(&after.events), replay(&before.events));
    let (old, new) = (review(&[before.session().unwrap()]), review(&[after.session().unwrap()]));
    assert_eq!((new.parts[0].comments.len(), &new.parts[0].sittings), (1, &old.parts[0].sittings));
    let text = text_of(&after.session().unwrap());
    assert_eq!(text.matches("Breathe before the turn.").count(), 1, "{text}");
    // The sound lies there as it lay, and so does the text for whoever has no earfirst.
    let place = made::answer(2).sound.unwrap();
    assert_eq!(after.sound(place).unwrap(), before.sound(place).unwrap());
    let mut zip = zip::ZipArchive::new(fs::File::open(&path).unwrap()).unwrap();
    let mut names: Vec<String> = zip.file_names().map(|name| name.unwrap().to_string()).collect();
    names.sort();
    assert_eq!(names, ["answers.flac", "review.txt", "session.jsonl"]);
    let told = std::io::read_to_string(zip.by_name("review.txt").unwrap()).unwrap();
    assert!(told.contains("Breathe before the turn."), "{told}");
}

#[test]
fn an_original_and_its_copies_with_words_are_one_sitting() {
    let fresh = Fresh::new("word-copies");
    let path = finished(&fresh);
    let copies = ["b.zip", "c.zip"].map(|name| path.with_file_name(name));
    copies.iter().for_each(|copy| assert!(fs::copy(&path, copy).is_ok()));
    add_comment(&copies[0], &comment(None, "Well begun."), &text_of).unwrap();
    add_comment(&copies[1], &comment(Some(1), "Softer."), &text_of).unwrap();
    add_comment(&copies[1], &comment(None, "Go on so."), &text_of).unwrap();
    let folder = path.parent().unwrap().to_owned();
    let mut found = survey(std::slice::from_ref(&folder));
    assert_eq!(found.listed.len(), 3);
    assert_eq!(found.once().len(), 2, "one sitting, not three");
    assert_eq!(found.listed[0].path, copies[1], "the one with more words");
    let known = commented(&Places::at(&fresh.0));
    assert_eq!(known.iter().map(|it| it.comments.len()).sum::<usize>(), 3, "no word of a copy is lost before a drill");
}

#[test]
fn an_older_program_reads_on_and_so_does_this_one_over_asides_of_a_newer() {
    let events = made::sitting(2);
    let newer = b"{\"event\":\"applauded\",\"aside\":true,\"loudly\":7}\n";
    let (read_back, damage) = read(&[made::file(&events), newer.to_vec()].concat());
    assert_eq!((read_back, damage), (events.clone(), None));
    // What does not say that no figure rests on it is reported.
    let unknown = b"{\"event\":\"applauded\",\"loudly\":7}\n";
    let (read_back, damage) = read(&[made::file(&events), unknown.to_vec()].concat());
    assert_eq!(read_back, events);
    assert!(damage.is_some_and(|damage| damage.lost == 1));
    // Nor is a comment that cannot be read an aside of a newer program.
    let broken = b"{\"event\":\"commented\",\"aside\":true,\"written\":\"x\",\"text\":7}\n";
    assert!(read(&[made::file(&events), broken.to_vec()].concat()).1.is_some());
}
