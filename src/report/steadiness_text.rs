use crate::music::Mode;
use crate::report::lines::{line, wrapped};
use crate::report::steadiness::{NEEDED, Steadiness, StepsCompared};
use crate::words::Page;
use crate::words::numbers::list;

/// Adds the keys as a table, once there are enough times for one, and what the table says.
pub(super) fn steadiness_table(out: &mut String, it: &Steadiness, mode: Mode, page: &Page) {
    line(out, "");
    if it.all.spread.is_none() {
        wrapped(out, "", &sentence(it));
        return;
    }
    line(out, "How steady: spread of reflex times, in % of the middle one");
    let row = |name: &str, [steps, first, last]: [&str; 3]| format!("{name:<4} {steps:>6} {first:>9} {last:>8}");
    line(out, &row("Key", ["Times", "At first", "At last"]));
    let mut keys: Vec<_> = it.keys.iter().collect();
    keys.sort_by_cached_key(|(key, _)| page.place(*key));
    let all = ("All".to_owned(), it.all);
    for (name, of) in keys.iter().map(|(key, of)| (page.key(*key, mode), *of)).chain([all]) {
        let [first, last] = shown(&of);
        line(out, &row(&name, [&of.steps.to_string(), &first, &last]));
    }
    line(out, "Times: those that follow another of the same pattern, key and form of cue.");
    wrapped(out, "", &sentence(it));
    let fell: Vec<String> =
        keys.iter().filter(|(_, of)| of.fell == Some(true)).map(|(key, _)| page.key(*key, mode)).collect();
    if !fell.is_empty() {
        line(out, &format!("By itself it fell in {}.", list(&fell)));
    }
}

/// All keys in one line, with what the figures say.
pub(super) fn steadiness_line(it: &Steadiness) -> String {
    let [first, last] = shown(&it.all);
    let figures = match it.all.spread {
        Some(_) => format!("Spread of reflex times: {first} % of the middle time at first, {last} % at last. "),
        None => String::new(),
    };
    format!("{figures}{}", sentence(it))
}

fn shown(of: &StepsCompared) -> [String; 2] {
    of.spread.map_or_else(|| ["-", "-"].map(str::to_owned), |both| both.map(|part| format!("{:.0}", 100.0 * part)))
}

/// What the spread says; growing quicker alone leaves it, as a share of the middle time, as it was.
fn sentence(it: &Steadiness) -> String {
    let so_far = it.all.steps;
    match it.all.fell {
        Some(true) => "It fell by more than growing quicker explains: a sign that answers begin by themselves.".to_owned(),
        Some(false) if it.all.spread.is_some_and(|[first, last]| last >= first) => "It did not fall.".to_owned(),
        Some(false) => "It did not fall by more than growing quicker explains.".to_owned(),
        None if !it.calibrated => {
            "Whether the spread falls by more than growing quicker explains is not told: the delay of the devices is in some of these times."
                .to_owned()
        }
        None => format!(
            "Whether the spread falls by more than growing quicker explains is told from {NEEDED} answers on that follow another of the same pattern, key and form of cue, over all keys; so far there {}.",
            if so_far == 1 { "is one".to_owned() } else { format!("are {so_far}") }
        ),
    }
}
