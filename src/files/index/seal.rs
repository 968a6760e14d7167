use sha2::{Digest, Sha256};

use crate::files::index::in_time;
use crate::files::index::schema::SCHEMA;
use crate::report::{AnswerFigures, SittingFigures};

/// SHA-256 (FIPS 180-4) of a record.
pub(super) fn hash(bytes: &[u8]) -> Vec<u8> {
    Sha256::digest(bytes).to_vec()
}

/// The seal of the figures of the answers; where it does not match, something else wrote them.
pub(super) fn of_answers(answers: &[AnswerFigures]) -> Vec<u8> {
    let mut all = Vec::new();
    for answer in answers {
        let AnswerFigures { pattern, title, key, mode, form, whole, right, of, reflex, pace, away, held_out } = answer;
        all.push(form.place());
        for text in [pattern.0.as_str(), title, mode.name(), key.name()] {
            all.extend(text.as_bytes());
            all.push(0);
        }
        let days = [away, held_out].map(|day| [u32::from(day.is_some()), day.unwrap_or(0).cast_unsigned()]);
        let numbers = [u32::from(*whole), *right, *of];
        numbers.iter().chain(days.as_flattened()).for_each(|number| all.extend(number.to_le_bytes()));
        for time in [reflex.map(|time| time.0), pace.map(|pace| pace.0)] {
            all.push(u8::from(time.is_some()));
            // SQLite stores minus zero as zero, so the seal counts both as zero.
            all.extend((time.unwrap_or(0.0) + 0.0).to_le_bytes());
        }
    }
    hash(&all)
}

/// The seal of everything that is kept of a sitting, but its file's path, size and time of change; of its answers it takes their
/// own seal.
pub(super) fn of_sitting(
    record: &[u8],
    damage: Option<&str>,
    lines: [&str; 2],
    figures: &SittingFigures,
    answers: &[u8],
) -> Vec<u8> {
    let mut all = Sha256::new();
    let [began, comments] = lines.map(str::as_bytes);
    for part in [record, damage.unwrap_or("").as_bytes(), began, comments, answers] {
        all.update(part.len().to_le_bytes());
        all.update(part);
    }
    for time in [figures.lasted, figures.sounding, figures.resting] {
        all.update((time.0 + 0.0).to_le_bytes());
    }
    all.update(figures.rests.to_le_bytes());
    all.update(in_time::bytes(figures));
    all.update(in_time::task_bytes(figures.second_task.as_ref()));
    all.update(figures.in_use.to_bytes());
    all.finalize().to_vec()
}

/// The seal of what the coach knows after these sittings. It is made of the program's version and `SCHEMA` too, because other rules
/// learn otherwise.
pub(super) fn of_learner(sittings: &[u8], state: &[u8]) -> Vec<u8> {
    let mut all = Sha256::new();
    all.update(env!("CARGO_PKG_VERSION"));
    all.update(SCHEMA.to_le_bytes());
    all.update(sittings.len().to_le_bytes());
    all.update(sittings);
    all.update(state);
    all.finalize().to_vec()
}

#[cfg(test)]
mod tests {
    use super::hash;

    #[test]
    fn the_hash_is_the_published_one() {
        // FIPS 180-2, appendix B.1.
        let hex: String = hash(b"abc").iter().map(|byte| format!("{byte:02x}")).collect();
        assert_eq!(hex, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }
}
