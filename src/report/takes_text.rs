use crate::report::lines::{line, wrapped};
use crate::report::takes::Take;
use crate::units::Seconds;
use crate::words::{self, Page};

/// Adds answers to listen to; `number` is the number of the first, `many` says whether there are several sittings.
pub(super) fn takes(out: &mut String, title: &str, number: usize, takes: &[Take], page: &Page, many: bool) {
    if takes.is_empty() {
        return;
    }
    let kept = takes.iter().any(|take| take.sound_at.is_some());
    line(out, "");
    line(
        out,
        &if kept { format!("{title} (times are places in the sound, where it is kept)") } else { title.to_owned() },
    );
    for (take, number) in takes.iter().zip(number..) {
        let sitting = if many { format!("sitting {}, ", take.sitting + 1) } else { String::new() };
        let step = take.step.map_or(String::new(), |step| format!("  {}", words::reason::moved_in_short(step)));
        let at = match take.sound_at {
            Some(at) => clock(at),
            None => {
                let kept = if take.by_midi { "MIDI notes" } else { "no sound" };
                format!("{kept}, {} into the sitting", clock(take.at))
            }
        };
        let entry = format!(
            "{number}  {sitting}{at}  {}  {}  {}{step}",
            page.key(take.key, take.mode),
            take.title,
            take.sentence
        );
        wrapped(out, "  ", &entry);
    }
}

/// What was right of an answer that was not all right: "8 of 9 notes right".
pub(super) fn notes_right(right: u32, of: u32) -> String {
    if right == of {
        "all notes right, but others too, or not at the first attempt".to_owned()
    } else {
        format!("{right} of {of} notes right")
    }
}

/// Minutes and whole seconds, and hours from one hour on, as a player of sound files shows them.
pub(super) fn clock(at: Seconds) -> String {
    let at = at.0.max(0.0) as u64;
    if at < 3600 {
        format!("{}:{:02}", at / 60, at % 60)
    } else {
        format!("{}:{:02}:{:02}", at / 3600, at / 60 % 60, at % 60)
    }
}
