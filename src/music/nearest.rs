/// The candidate most like `text`, ignoring case, when it is like enough to be meant: at most one slip in three letters.
/// The first of equals wins, so the order of candidates is the order of preference.
pub(super) fn nearest<'a>(text: &str, candidates: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let wanted: Vec<char> = text.chars().take(64).flat_map(char::to_lowercase).collect();
    let allowed = (wanted.len() / 3).max(1);
    candidates
        .map(|candidate| (slips(&wanted, &candidate.to_lowercase().chars().collect::<Vec<_>>()), candidate))
        .filter(|(count, _)| *count <= allowed)
        .min_by_key(|(count, _)| *count)
        .map(|(_, candidate)| candidate)
}

/// How many letters were left out, put in, changed or swapped with their neighbour (optimal string alignment).
fn slips(one: &[char], other: &[char]) -> usize {
    let mut before: Vec<usize> = Vec::new();
    let mut above: Vec<usize> = (0..=other.len()).collect();
    for (i, a) in one.iter().enumerate() {
        let mut row = vec![i + 1];
        for (j, b) in other.iter().enumerate() {
            let mut best = (above[j] + usize::from(a != b)).min(above[j + 1] + 1).min(row[j] + 1);
            if i > 0 && j > 0 && *a == other[j - 1] && one[i - 1] == *b {
                best = best.min(before[j - 1] + 1);
            }
            row.push(best);
        }
        before = std::mem::replace(&mut above, row);
    }
    above.last().copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn a_slip_of_the_finger_finds_the_word_that_was_meant() {
        let words = ["trumpet", "trombone", "tuba"];
        assert_eq!(nearest("trumpte", words.into_iter()), Some("trumpet"));
        assert_eq!(nearest("Tromboen", words.into_iter()), Some("trombone"));
        assert_eq!(nearest("tub", words.into_iter()), Some("tuba"));
        assert_eq!(nearest("gong", words.into_iter()), None);
    }
}
