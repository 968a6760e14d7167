/// The candidate nearest to `word` in single letters changed, added, left out or swapped (Damerau's distance, capped at a
/// third of the longer word and at least one); the first of equals. `None` when nothing is near.
pub(super) fn nearest<'c>(word: &str, candidates: impl IntoIterator<Item = &'c str>) -> Option<&'c str> {
    let mut best: Option<(usize, &str)> = None;
    for candidate in candidates {
        let away = distance(word, candidate);
        let allowed = (word.chars().count().max(candidate.chars().count()) / 3).max(1);
        if away <= allowed && best.is_none_or(|(least, _)| away < least) {
            best = Some((away, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}

/// Letters to change between two words: insertions, deletions, substitutions and swaps of neighbours (optimal string
/// alignment). Words over 64 letters are compared by their first 64, so the cost is bounded.
pub(super) fn distance(one: &str, other: &str) -> usize {
    let a: Vec<char> = one.chars().flat_map(char::to_lowercase).take(64).collect();
    let b: Vec<char> = other.chars().flat_map(char::to_lowercase).take(64).collect();
    let mut rows: Vec<Vec<usize>> = vec![(0..=b.len()).collect()];
    for i in 1..=a.len() {
        let mut row = vec![i; b.len() + 1];
        for j in 1..=b.len() {
            let change = rows[i - 1][j - 1] + usize::from(a[i - 1] != b[j - 1]);
            row[j] = change.min(rows[i - 1][j] + 1).min(row[j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                row[j] = row[j].min(rows[i - 2][j - 2] + 1);
            }
        }
        rows.push(row);
    }
    rows[a.len()][b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_of_the_finger_finds_the_word_that_was_meant() {
        let units = ["eighth", "quarter", "sixteenth", "triplet"];
        assert_eq!(nearest("eigth", units), Some("eighth"));
        assert_eq!(nearest("trilpet", units), Some("triplet"));
        assert_eq!(nearest("banjo", units), None);
        assert_eq!(nearest("3b", ["3", "b3", "5"]), Some("3"));
    }

    #[test]
    fn swapped_letters_count_once() {
        assert_eq!(distance("b3", "3b"), 1);
        assert_eq!(distance("", "abc"), 3);
    }
}
