use crate::report::date::date;
use crate::report::kept::{HeldOutKeySummary, KeptAfter, TrySummary};
use crate::report::lines::{line, wrapped};
use crate::words::Page;

/// Fewer tries than these say little.
const ENOUGH: u32 = 8;

/// What was kept, and the keys that were held out; nothing where nothing came back and no key was held out.
pub(super) fn kept_lines(out: &mut String, kept: &[KeptAfter; 2], held_out: &[HeldOutKeySummary], page: &Page) {
    let rows = kept_rows(kept);
    if !rows.is_empty() {
        line(out, "");
        line(out, "Kept: first answers that were all right");
        rows.iter().for_each(|row| line(out, &format!("  {row}")));
    }
    if !held_out.is_empty() {
        line(out, "");
        line(out, "Held out of practice, asked once a week: does it come all the same?");
        held_out.iter().for_each(|it| wrapped(out, "  ", &held_out_words(it, "", page)));
    }
}

/// What was kept after a time away, and the keys that were held out, as sentences.
pub(super) fn kept_sentences(kept: &[KeptAfter; 2], held_out: &[HeldOutKeySummary], page: &Page) -> Vec<String> {
    let rows = kept_rows(kept);
    let kept = (!rows.is_empty()).then(|| format!("All right at the first answer {}.", rows.join("; ")));
    let held_out = held_out.iter().map(|it| held_out_words(it, ", held out of practice and asked once a week", page));
    kept.into_iter().chain(held_out).collect()
}

fn kept_rows(kept: &[KeptAfter; 2]) -> Vec<String> {
    let away = ["after a week or more away, under a month", "after a month or more away"];
    let rows = kept.iter().zip(away).filter(|(kept, _)| kept.tries > 0);
    rows.map(|(kept, away)| format!("{away}: {} of {}", kept.whole, kept.tries)).collect()
}

fn held_out_words(it: &HeldOutKeySummary, how: &str, page: &Page) -> String {
    let words = |tries: &TrySummary| {
        let reflex = tries.reflex.map_or_else(String::new, |time| format!(", reflex {}", page.reflex(time)));
        format!("{} of {} all right{reflex}", tries.whole, tries.tries)
    };
    let (key, until) = (page.key(it.key, it.mode), date(it.until));
    let few = if it.tries.tries < ENOUGH { " So few tries say little yet." } else { "" };
    format!(
        "{key}{how} until {until}: {}; first answers of the other keys on those days {}.{few}",
        words(&it.tries),
        words(&it.others)
    )
}
