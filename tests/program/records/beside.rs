//! Any second task, and any number that was given.

use arbtest::arbitrary::{Result, Unstructured};
use earfirst::outside::cue::{SecondTask, SoftTap, TapSound};
use earfirst::outside::session::CountedTaps;
use earfirst::outside::units::Beats;

use crate::records::made::{number, seconds};

pub(super) fn second_task(u: &mut Unstructured) -> Result<SecondTask> {
    let sound = |u: &mut Unstructured| u.choose(&[TapSound::Wood, TapSound::Brush]).copied();
    let tap = |u: &mut Unstructured| Ok(SoftTap { at: Beats(number(u, 16.0)?), sound: sound(u)? });
    Ok(SecondTask { block: u.arbitrary()?, counted: some(u, sound)?, taps: many(u, tap)? })
}

pub(super) fn counted(u: &mut Unstructured) -> Result<CountedTaps> {
    let said = some(u, |u| u.arbitrary())?;
    Ok(CountedTaps { at: seconds(u)?, block: u.arbitrary()?, sounded: u.arbitrary()?, said })
}

pub(super) fn some<T>(u: &mut Unstructured, make: impl FnOnce(&mut Unstructured) -> Result<T>) -> Result<Option<T>> {
    if u.arbitrary()? { make(u).map(Some) } else { Ok(None) }
}

pub(super) fn many<T>(u: &mut Unstructured, make: impl Fn(&mut Unstructured) -> Result<T>) -> Result<Vec<T>> {
    (0..u.int_in_range(0..=5)?).map(|_| make(u)).collect()
}
