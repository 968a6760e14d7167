//! The learner model written as bytes and read back bit for bit. The bytes may be thrown away at any time: the record is the truth.

use std::collections::BTreeMap;

use crate::coach::LearnerModel;
use crate::coach::came_out::PlayedFreely;
use crate::coach::day::{AnswersOneWay, Day, FirstTry, ReflexTotal};
use crate::coach::forgetting::Forgetting;
use crate::coach::in_use::{InUse, UseTry, UsedPattern, UsedTries};
use crate::coach::key_stats::{KeyStats, RegisterStats};
use crate::coach::learner_model::{Meeting, PatternStats};
use crate::cue::Form;
use crate::music::ConcertKey;
use crate::pattern::{Join, PatternId, Register, Seam};
use crate::units::{Seconds, Tempo};
use crate::verdict::TempoStep;

/// Most entries for which room is taken before a list is read, since the length that is written may be wrong; a longer list grows
/// while it is read.
const ROOM: usize = 4096;

impl LearnerModel {
    /// The model as bytes.
    #[must_use]
    pub fn to_bytes(&self) -> Vec<u8> {
        let mut bytes = Vec::new();
        self.put(&mut bytes);
        bytes
    }

    /// The model that these bytes stand for; `None` where they do not read as a model from the first byte to the last.
    #[must_use]
    pub fn from_bytes(mut bytes: &[u8]) -> Option<Self> {
        Self::take(&mut bytes).filter(|_| bytes.is_empty())
    }
}

impl InUse {
    /// What passes in phrases, as bytes; none where nothing was tried.
    #[must_use]
    pub fn to_bytes(&self) -> Vec<u8> {
        let mut bytes = Vec::new();
        if !self.is_empty() {
            self.put(&mut bytes);
        }
        bytes
    }

    /// What these bytes stand for; `None` where they are not what [`InUse::to_bytes`] gives.
    #[must_use]
    pub fn from_bytes(mut bytes: &[u8]) -> Option<Self> {
        if bytes.is_empty() {
            return Some(Self::default());
        }
        Self::take(&mut bytes).filter(|_| bytes.is_empty())
    }
}

/// A value that is written as bytes, numbers with the lowest byte first.
trait InBytes: Sized {
    /// Adds the value to the end of the bytes.
    fn put(&self, into: &mut Vec<u8>);
    /// Takes a value off the beginning of the bytes; `None` where they do not begin with such a value.
    fn take(from: &mut &[u8]) -> Option<Self>;
}

macro_rules! numbers {
    ($($kind:ty)*) => { $(impl InBytes for $kind {
        fn put(&self, into: &mut Vec<u8>) {
            into.extend(self.to_le_bytes());
        }
        fn take(from: &mut &[u8]) -> Option<Self> {
            let (bytes, rest) = from.split_first_chunk()?;
            *from = rest;
            Some(Self::from_le_bytes(*bytes))
        }
    })* };
}
numbers!(u8 u32 i32 u64 f64);

/// Writes and reads a struct field by field; the compiler refuses a struct with a field left out.
macro_rules! fields {
    ($($kind:ident { $($field:tt),* })*) => { $(impl InBytes for $kind {
        fn put(&self, into: &mut Vec<u8>) {
            $(self.$field.put(into);)*
        }
        fn take(from: &mut &[u8]) -> Option<Self> {
            Some(Self { $($field: InBytes::take(from)?),* })
        }
    })* };
}
fields! {
    LearnerModel { patterns, day, turn, recent, last_turn, last_day, meeting, practised, in_use }
    InUse { patterns, joins, keys, free }
    PlayedFreely { title, since, held, choruses, came, keys, broke }
    UsedPattern { title, keys }
    UsedTries { tries, passed, lately }
    UseTry { day, passed }
    Join { before, after, seam }
    Meeting { pattern, key, turn }
    PatternStats { keys, credit, answers, opened_today, mixed }
    KeyStats {
        rung, failed, passes, reflexes, registers, answers, cues, cues_today, answers_today, passed_today, last_day,
        last_turn, lately, latest, credit, days, lost
    }
    RegisterStats { cues, timed, reflexes }
    Day { day, first, answers, passed, kept_tempo, reflexes, ways }
    FirstTry { passed, right, of, tempo, reflex }
    ReflexTotal { count, sum }
    AnswersOneWay { first_passed, answers, passed, kept_tempo, reflexes }
    Forgetting { tries, sum }
    Tempo { 0 }
    Seconds { 0 }
    PatternId { 0 }
}

/// Writes and reads an enum without fields as the number of its variant.
macro_rules! one_of {
    ($($kind:ident { $($one:ident = $number:literal),* })*) => { $(impl InBytes for $kind {
        fn put(&self, into: &mut Vec<u8>) {
            into.push(match self { $(Self::$one => $number),* });
        }
        fn take(from: &mut &[u8]) -> Option<Self> {
            match u8::take(from)? { $($number => Some(Self::$one),)* _ => None }
        }
    })* };
}
one_of! {
    Form { Pattern = 0, FirstNote = 1, Chord = 2, NameOnly = 3 }
    Register { Low = 0, Middle = 1, High = 2 }
    TempoStep { Down = 0, Stay = 1, Up = 2 }
    Seam { HalfStep = 0, Step = 1, Shared = 2 }
}

impl InBytes for bool {
    fn put(&self, into: &mut Vec<u8>) {
        into.push(u8::from(*self));
    }
    fn take(from: &mut &[u8]) -> Option<Self> {
        match u8::take(from)? {
            0 => Some(false),
            1 => Some(true),
            _ => None,
        }
    }
}

impl InBytes for ConcertKey {
    fn put(&self, into: &mut Vec<u8>) {
        into.push(self.place() as u8);
    }
    fn take(from: &mut &[u8]) -> Option<Self> {
        Self::FIFTHS.get(usize::from(u8::take(from)?)).copied()
    }
}

impl InBytes for String {
    fn put(&self, into: &mut Vec<u8>) {
        self.as_bytes().to_vec().put(into);
    }
    fn take(from: &mut &[u8]) -> Option<Self> {
        Self::from_utf8(InBytes::take(from)?).ok()
    }
}

impl<T: InBytes> InBytes for Option<T> {
    fn put(&self, into: &mut Vec<u8>) {
        self.is_some().put(into);
        self.iter().for_each(|it| it.put(into));
    }
    fn take(from: &mut &[u8]) -> Option<Self> {
        Some(if bool::take(from)? { Some(T::take(from)?) } else { None })
    }
}

impl<T: InBytes> InBytes for Vec<T> {
    fn put(&self, into: &mut Vec<u8>) {
        (self.len() as u32).put(into);
        self.iter().for_each(|it| it.put(into));
    }
    fn take(from: &mut &[u8]) -> Option<Self> {
        let length = u32::take(from)? as usize;
        let mut list = Self::with_capacity(length.min(ROOM));
        for _ in 0..length {
            list.push(T::take(from)?);
        }
        Some(list)
    }
}

impl<T: InBytes, const N: usize> InBytes for [T; N] {
    fn put(&self, into: &mut Vec<u8>) {
        self.iter().for_each(|it| it.put(into));
    }
    fn take(from: &mut &[u8]) -> Option<Self> {
        let all: Option<Vec<T>> = (0..N).map(|_| T::take(from)).collect();
        all?.try_into().ok()
    }
}

impl<A: InBytes, B: InBytes> InBytes for (A, B) {
    fn put(&self, into: &mut Vec<u8>) {
        self.0.put(into);
        self.1.put(into);
    }
    fn take(from: &mut &[u8]) -> Option<Self> {
        Some((A::take(from)?, B::take(from)?))
    }
}

impl<K: InBytes + Ord, V: InBytes> InBytes for BTreeMap<K, V> {
    fn put(&self, into: &mut Vec<u8>) {
        (self.len() as u32).put(into);
        for (key, value) in self {
            key.put(into);
            value.put(into);
        }
    }
    fn take(from: &mut &[u8]) -> Option<Self> {
        Some(Vec::<(K, V)>::take(from)?.into_iter().collect())
    }
}
