/// A key or a pedal that is pressed to ask for something.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SteeringKey {
    /// A key, by its note number.
    Key(u8),
    /// A pedal or button, by the number of its controller.
    Pedal(u8),
}

/// From here on a pedal is down (MIDI 1.0, from memory).
const DOWN: u8 = 64;

/// What can be asked for from the instrument itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Steer {
    /// Pause, or go on.
    Pause,
    /// Ask the same cue again.
    Again,
    /// The answer was misheard.
    Misheard,
}

/// What each key or pedal asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Steering {
    /// Asks for a pause.
    pub pause: Option<SteeringKey>,
    /// Asks for the cue again.
    pub again: Option<SteeringKey>,
    /// Says that the answer was misheard.
    pub misheard: Option<SteeringKey>,
}

impl Steering {
    /// What a press asks for; `None` where it asks for nothing.
    #[must_use]
    pub fn of(&self, presser: SteeringKey) -> Option<Steer> {
        let meant = [(self.pause, Steer::Pause), (self.again, Steer::Again), (self.misheard, Steer::Misheard)];
        meant.into_iter().find(|(taught, _)| *taught == Some(presser)).map(|(_, steer)| steer)
    }
}

/// What a controller does that belongs to the music or to the instrument, so that it never steers; `None` for a pedal or a button that
/// can. Numbers: MIDI 1.0 Detailed Specification, table of control changes, from memory; 32 to 63 are the finer half of 0 to 31, and 88
/// comes with each key (high resolution velocity prefix).
#[must_use]
pub const fn plays_or_sets(number: u8) -> Option<&'static str> {
    Some(match number {
        0 | 32 => "chooses the bank of sounds",
        1 | 33 => "carries modulation",
        2 | 34 => "carries breath",
        5 | 37 | 65 | 84 => "lets notes glide",
        6 | 38 | 96..=101 => "sets a value",
        7 | 39 => "carries the volume",
        8 | 40 => "carries the balance",
        10 | 42 => "places the sound left or right",
        11 | 43 => "carries the expression",
        36 => "is the finer half of a foot pedal",
        64 => "is the sustain pedal",
        69 => "is the second sustain pedal",
        88 => "comes with each key",
        120..=127 => "sets a mode, or silences the notes",
        _ => return None,
    })
}

/// The pedals that are down: a pedal that passes its middle on the way down is pressed once, however it trembles there.
#[derive(Debug, Clone, Default)]
pub struct Pedals {
    down: Vec<u8>,
}

impl Pedals {
    /// Takes in that a pedal stands elsewhere; gives the pedal where that is a press. What plays or sets is never given.
    pub fn moved(&mut self, number: u8, value: u8) -> Option<SteeringKey> {
        let was_down = self.down.contains(&number);
        if value == 0 || (was_down && value < DOWN / 2) {
            self.down.retain(|down| *down != number);
        } else if value >= DOWN && !was_down {
            self.down.push(number);
            return plays_or_sets(number).is_none().then_some(SteeringKey::Pedal(number));
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pedal_that_trembles_on_its_way_down_is_pressed_once() {
        let mut pedals = Pedals::default();
        let way = [10, 50, 64, 60, 66, 127, 90, 40, 20, 0, 30, 127];
        let pressed: Vec<u8> = way.into_iter().filter(|&value| pedals.moved(67, value).is_some()).collect();
        assert_eq!(pressed, [64, 127]);
    }

    #[test]
    fn what_carries_the_playing_or_sets_the_instrument_never_steers() {
        for number in
            [0, 1, 2, 5, 6, 7, 8, 10, 11, 32, 33, 34, 38, 39, 43, 64, 65, 69, 84, 88, 96, 99, 101, 120, 121, 123, 127]
        {
            assert_eq!(Pedals::default().moved(number, 127), None, "{number}");
        }
        for number in [4, 16, 66, 67, 68, 80, 102] {
            assert_eq!(Pedals::default().moved(number, 127), Some(SteeringKey::Pedal(number)));
        }
    }

    #[test]
    fn what_was_taught_is_asked_for_and_nothing_else() {
        let steering =
            Steering { pause: Some(SteeringKey::Key(21)), again: Some(SteeringKey::Pedal(67)), misheard: None };
        assert_eq!(steering.of(SteeringKey::Key(21)), Some(Steer::Pause));
        assert_eq!(steering.of(SteeringKey::Pedal(67)), Some(Steer::Again));
        assert_eq!(steering.of(SteeringKey::Key(67)), None);
    }
}
