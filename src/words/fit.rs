//! What does not fit the player's range, in words.

use crate::coach::Misfit;
use crate::music::ConcertKey;
use crate::words::numbers::{count, list};

/// Largest number of patterns that are named one by one; of more only the number is said.
const FEW: usize = 3;

/// One sentence for each group of keys that does not fit the player's range, and behind the last the range ("D4 to C6"), where it is known,
/// with what widens it.
#[must_use]
pub fn sentences(misfits: &[Misfit], range: Option<&str>, name: impl Fn(ConcertKey) -> String) -> Vec<String> {
    let mut said: Vec<String> = misfits.iter().map(|misfit| sentence(misfit, &name)).collect();
    if let (Some(last), Some(range)) = (said.last_mut(), range) {
        *last += &format!(" Your range is {range}; --range widens it.");
    }
    said
}

/// Which keys do not fit, in which patterns, and what follows; `name` gives a key its name on the page.
#[must_use]
pub fn sentence(misfit: &Misfit, name: impl Fn(ConcertKey) -> String) -> String {
    let Misfit { keys, patterns, others } = misfit;
    let names: Vec<String> = keys.iter().map(|key| name(*key)).collect();
    let (fits, asked) = if keys.len() == 1 { ("does not fit", "it is") } else { ("do not fit", "they are") };
    let all = patterns.len() + others;
    let (where_not, where_asked) = match (patterns.len(), *others) {
        (1, 0) => (String::new(), "not asked"),
        (_, 0) => (" in any of the patterns".to_owned(), "not asked"),
        (few, others) => {
            let out =
                if few <= FEW { list(patterns) } else { format!("{} of the {} patterns", count(few), count(all)) };
            (
                format!(" in {out}"),
                if others == 1 { "asked in the other pattern only" } else { "asked in the other patterns only" },
            )
        }
    };
    format!("{} {fits} your range{where_not}: {asked} {where_asked}.", list(&names))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(keys: &[usize], patterns: &[&str], others: usize) -> String {
        let keys = keys.iter().map(|place| ConcertKey::FIFTHS[*place]).collect();
        let patterns = patterns.iter().map(|name| (*name).to_owned()).collect();
        sentence(&Misfit { keys, patterns, others }, |key| key.name().to_owned())
    }

    #[test]
    fn a_key_that_fits_one_of_several_patterns_is_asked_there() {
        let thirds = "Broken thirds up";
        assert_eq!(
            said(&[7], &[thirds], 2),
            "Db does not fit your range in Broken thirds up: it is asked in the other patterns only."
        );
        assert_eq!(
            said(&[7, 8, 10], &[thirds], 1),
            "Db, Ab and Bb do not fit your range in Broken thirds up: they are asked in the other pattern only."
        );
        assert_eq!(
            said(&[7], &[thirds, "Octaves"], 1),
            "Db does not fit your range in Broken thirds up and Octaves: it is asked in the other pattern only."
        );
        assert_eq!(
            said(&[0, 1], &["a", "b", "c", "d"], 3),
            "C and G do not fit your range in four of the seven patterns: they are asked in the other patterns only."
        );
    }

    #[test]
    fn the_range_is_said_once_with_what_widens_it() {
        let misfit = Misfit { keys: vec![ConcertKey::FIFTHS[7]], patterns: vec!["Triads".to_owned()], others: 0 };
        assert_eq!(
            sentences(&[misfit.clone(), misfit], Some("D4 to C6"), |key| key.name().to_owned()),
            [
                "Db does not fit your range: it is not asked.",
                "Db does not fit your range: it is not asked. Your range is D4 to C6; --range widens it."
            ]
        );
    }

    #[test]
    fn a_key_that_fits_nowhere_is_not_asked() {
        assert_eq!(said(&[7], &["Broken thirds up"], 0), "Db does not fit your range: it is not asked.");
        assert_eq!(said(&[7, 8], &["Broken thirds up"], 0), "Db and Ab do not fit your range: they are not asked.");
        assert_eq!(
            said(&[7, 8], &["a", "b"], 0),
            "Db and Ab do not fit your range in any of the patterns: they are not asked."
        );
    }
}
