/// The candidate most like `word`, ignoring case; `None` where every candidate has more than one slip for three letters of `word` (one slip
/// is always allowed). Of equally similar candidates it is the first, so the order of the candidates is the order of preference.
#[must_use]
pub fn nearest<'c>(word: &str, candidates: impl IntoIterator<Item = &'c str>) -> Option<&'c str> {
    let allowed = (word.chars().count().min(64) / 3).max(1);
    let counted = candidates.into_iter().map(|candidate| (slips(word, candidate), candidate));
    counted.filter(|(count, _)| *count <= allowed).min_by_key(|(count, _)| *count).map(|(_, candidate)| candidate)
}

/// The number of letters that are left out, put in, changed or swapped with a neighbour, ignoring case (optimal string
/// alignment). Longer words are compared by their first 64 letters, so that the time is bounded.
#[must_use]
pub fn slips(one: &str, other: &str) -> usize {
    let letters = |word: &str| word.chars().flat_map(char::to_lowercase).take(64).collect::<String>();
    strsim::osa_distance(&letters(one), &letters(other))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_of_the_finger_finds_the_word_that_was_meant() {
        let words = ["trumpet", "trombone", "tuba", "triplet", "eighth", "3", "b3"];
        assert_eq!(nearest("trumpte", words), Some("trumpet"));
        assert_eq!(nearest("Tromboen", words), Some("trombone"));
        assert_eq!(nearest("tub", words), Some("tuba"));
        assert_eq!(nearest("trilpet", words), Some("triplet"));
        assert_eq!(nearest("eigth", words), Some("eighth"));
        assert_eq!(nearest("3b", words), Some("3"), "the first of equals");
        assert_eq!(nearest("gong", words), None);
    }

    #[test]
    fn swapped_letters_count_once() {
        assert_eq!(slips("b3", "3b"), 1);
        assert_eq!(slips("", "abc"), 3);
    }
}
