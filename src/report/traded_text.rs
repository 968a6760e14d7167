//! The phrases of trades that went wrong, in sentences: where they lie, and what the record says of them.

use crate::report::date::date;
use crate::report::lines::{line, wrapped};
use crate::report::traded::{PhraseFault, PhraseReview};
use crate::words::numbers::{list, listed};

/// What stands above these phrases.
pub(super) const WRONG: &str = "Phrases that went wrong, the worst first";
/// Largest number of phrases that are told; the rest is only counted.
const TOLD: usize = 8;

/// The worst phrases, a sentence each, how many there are besides, and for each chart that was gone through more than once on which of its
/// bars they began. `many` says whether there are several sittings.
pub(super) fn phrase_sentences(phrases: &PhraseReview, many: bool) -> Vec<String> {
    let all = &phrases.faults;
    let shown = listed(all.len(), TOLD);
    let mut said: Vec<String> = all.iter().take(shown).map(|fault| sentence(fault, many)).collect();
    said.extend((all.len() > shown).then(|| format!("and {} more", all.len() - shown)));
    if !all.is_empty() {
        said.extend(by_place(phrases));
    }
    said
}

/// The same in lines; nothing where no phrase went wrong.
pub(super) fn phrase_lines(out: &mut String, phrases: &PhraseReview, many: bool) {
    let said = phrase_sentences(phrases, many);
    if !said.is_empty() {
        line(out, "");
        line(out, WRONG);
        said.iter().for_each(|sentence| wrapped(out, "  ", sentence));
    }
}

fn sentence(fault: &PhraseFault, many: bool) -> String {
    let sitting = if many { format!("{}, sitting {}, ", date(fault.day), fault.sitting + 1) } else { String::new() };
    let chorus = fault.chorus.map_or_else(String::new, |chorus| format!("chorus {chorus}, "));
    format!("{sitting}{chorus}{}", fault.sentence)
}

/// Of each chart where a place came more than once: the answers without a fault, by the bar on which their phrases begin.
fn by_place(phrases: &PhraseReview) -> Vec<String> {
    let mut charts: Vec<&String> = phrases.places.keys().map(|(chart, _)| chart).collect();
    charts.dedup();
    let of = |chart: &&String| {
        let here = || phrases.places.iter().filter(|((other, _), _)| other == *chart);
        let places: Vec<String> =
            here().map(|((_, bar), (passed, of))| format!("{passed} of {of} from bar {bar} on")).collect();
        let again = here().any(|(_, (_, of))| *of > 1);
        again.then(|| format!("{chart}, answers without a fault: {}", list(&places)))
    };
    charts.iter().filter_map(of).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn review() -> PhraseReview {
        let fault = |chorus: u32, sentence: &str| PhraseFault {
            sitting: 0,
            day: 20_787,
            chorus: Some(chorus),
            sentence: sentence.to_owned(),
        };
        let places = [(1, (2, 2)), (5, (1, 2)), (9, (0, 2))].map(|(bar, of)| (("blues".to_owned(), bar), of));
        let wrong = "bars 9 to 12 in Eb: All fifteen right; rushed to quarter = 186 where 160 was asked.";
        PhraseReview {
            faults: vec![fault(1, wrong), fault(2, wrong), fault(2, "bars 5 to 8 in Eb: Late.")],
            places: places.into(),
        }
    }

    #[test]
    fn a_teacher_reads_which_bars_of_which_chorus_went_wrong_and_where_in_the_form_it_happens() {
        let said = phrase_sentences(&review(), false);
        assert_eq!(said[0], format!("chorus 1, {}", review().faults[0].sentence));
        assert_eq!(
            said[3],
            "blues, answers without a fault: 2 of 2 from bar 1 on, 1 of 2 from bar 5 on and 0 of 2 from bar 9 on"
        );
        let of_many = phrase_sentences(&review(), true);
        assert!(of_many[2].starts_with("30 November 2026, sitting 1, chorus 2, bars 5 to 8"), "{of_many:?}");
    }

    #[test]
    fn where_nothing_went_wrong_nothing_is_said() {
        let clean = PhraseReview { faults: Vec::new(), ..review() };
        assert_eq!(phrase_sentences(&clean, false), Vec::<String>::new());
    }
}
