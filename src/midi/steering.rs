/// A key or a pedal that is pressed to ask for something.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Presser {
    /// A key, by its note number.
    Key(u8),
    /// A pedal or button, by the number of its controller.
    Pedal(u8),
}

/// The sustain pedal (MIDI 1.0, from memory): it belongs to the music, and never steers.
const SUSTAIN: u8 = 64;
/// Controllers that are no pedals: the bank of sounds, breath, and those that name a parameter or set it (MIDI 1.0, from memory).
/// Nobody presses them.
const NO_PEDALS: [u8; 11] = [0, 2, 6, 32, 38, 96, 97, 98, 99, 100, 101];
/// From here on a channel's mode is set.
const MODES: u8 = 120;
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
    pub pause: Option<Presser>,
    /// Asks for the cue again.
    pub again: Option<Presser>,
    /// Says that the answer was misheard.
    pub misheard: Option<Presser>,
}

impl Steering {
    /// What a press asks for; `None` where it is played, not asked.
    #[must_use]
    pub fn of(&self, presser: Presser) -> Option<Steer> {
        let meant = [(self.pause, Steer::Pause), (self.again, Steer::Again), (self.misheard, Steer::Misheard)];
        meant.into_iter().find(|(taught, _)| *taught == Some(presser)).map(|(_, steer)| steer)
    }
}

/// Whether a controller is a pedal or a button that can ask for something.
#[must_use]
pub fn can_steer(number: u8) -> bool {
    number != SUSTAIN && number < MODES && !NO_PEDALS.contains(&number)
}

/// The pedals that are down: a pedal that passes its middle on the way down is pressed once, however it trembles there.
#[derive(Debug, Clone, Default)]
pub struct Pedals {
    down: Vec<u8>,
}

impl Pedals {
    /// A pedal stands elsewhere; gives it where that is a press. The sustain pedal never is, nor is a breath.
    pub fn moved(&mut self, number: u8, value: u8) -> Option<Presser> {
        let was_down = self.down.contains(&number);
        if value == 0 || (was_down && value < DOWN / 2) {
            self.down.retain(|down| *down != number);
        } else if value >= DOWN && !was_down {
            self.down.push(number);
            return can_steer(number).then_some(Presser::Pedal(number));
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
    fn the_sustain_pedal_and_a_breath_never_steer() {
        for number in [SUSTAIN, 0, 2, 6, 101, 121] {
            assert_eq!(Pedals::default().moved(number, 127), None);
        }
    }

    #[test]
    fn what_was_taught_is_asked_for_and_nothing_else() {
        let steering = Steering { pause: Some(Presser::Key(21)), again: Some(Presser::Pedal(67)), misheard: None };
        assert_eq!(steering.of(Presser::Key(21)), Some(Steer::Pause));
        assert_eq!(steering.of(Presser::Pedal(67)), Some(Steer::Again));
        assert_eq!(steering.of(Presser::Key(67)), None);
    }
}
