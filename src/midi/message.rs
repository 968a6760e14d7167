/// What one channel of an instrument said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ChannelMessage {
    /// The channel, 1 to 16 as on the instrument's panel.
    pub channel: u8,
    /// What was said.
    pub what: KeyMessage,
}

/// What can be said of keys and pedals.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum KeyMessage {
    /// A key goes down.
    Down {
        /// Note number: 60 is middle C.
        key: u8,
        /// How fast, 1 to 127.
        velocity: u8,
    },
    /// A key comes up.
    Up {
        /// Note number.
        key: u8,
    },
    /// A pedal, wheel or button stands elsewhere.
    Control {
        /// Number of the pedal: 64 is the sustain pedal.
        number: u8,
        /// Where, 0 to 127.
        value: u8,
    },
    /// The pitch of all that sounds is bent.
    Bend {
        /// Where the wheel or the lip stands, 0 to 16383; 8192 bends nothing.
        value: u16,
    },
    /// All that sounds is pressed, or blown, so hard.
    Pressure {
        /// How hard, 0 to 127.
        value: u8,
    },
    /// Every key of the channel counts as up.
    AllUp,
}

impl KeyMessage {
    /// What a controller says: "all sound off" and "all notes off", at a port as in a file, let every key of their channel go; 124 to 127
    /// set a mode, and silence the notes too.
    #[must_use]
    pub const fn of_controller(number: u8, value: u8) -> Self {
        match number {
            120 | 123..=127 => Self::AllUp,
            _ => Self::Control { number, value },
        }
    }
}

/// Reads messages off the wire, byte by byte: a status may be left out where it stays the same, clock bytes may stand anywhere,
/// and what is no channel message is passed over, as are programme changes and the pressure on a single key.
#[derive(Debug, Clone, Copy, Default)]
pub struct MessageReader {
    /// The status that the next data bytes belong to; `None` where they are passed over.
    status: Option<u8>,
    /// The first data byte of a message that has two.
    first: Option<u8>,
}

impl MessageReader {
    /// Takes some bytes in and tells every message that they complete.
    pub fn read(&mut self, bytes: &[u8], tell: &mut dyn FnMut(ChannelMessage)) {
        for &byte in bytes {
            match byte {
                // Clock, start, stop, "I am still here": a single byte each, inside another message even.
                0xF8..=0xFF => {}
                0xF0..=0xF7 => (self.status, self.first) = (None, None),
                0x80..=0xEF => (self.status, self.first) = (Some(byte), None),
                _ => self.data(byte).into_iter().for_each(&mut *tell),
            }
        }
    }

    fn data(&mut self, byte: u8) -> Option<ChannelMessage> {
        let status = self.status?;
        let channel = (status & 0x0F) + 1;
        // Programme change and channel pressure have one data byte.
        if matches!(status & 0xF0, 0xC0 | 0xD0) {
            let pressure = status & 0xF0 == 0xD0;
            return pressure.then_some(ChannelMessage { channel, what: KeyMessage::Pressure { value: byte } });
        }
        let Some(first) = self.first.take() else {
            self.first = Some(byte);
            return None;
        };
        let what = match (status & 0xF0, first, byte) {
            (0x90, key, velocity @ 1..) => KeyMessage::Down { key, velocity },
            (0x80 | 0x90, key, _) => KeyMessage::Up { key },
            (0xB0, number, value) => KeyMessage::of_controller(number, value),
            (0xE0, low, high) => KeyMessage::Bend { value: u16::from(high) << 7 | u16::from(low) },
            _ => return None,
        };
        Some(ChannelMessage { channel, what })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(packets: &[&[u8]]) -> Vec<(u8, KeyMessage)> {
        let (mut reader, mut said) = (MessageReader::default(), Vec::new());
        packets.iter().for_each(|bytes| reader.read(bytes, &mut |message| said.push((message.channel, message.what))));
        said
    }

    use KeyMessage::{AllUp, Bend, Control, Down, Pressure, Up};

    // The bytes: MIDI 1.0 Detailed Specification, table of channel messages, from memory.
    #[test]
    fn a_key_goes_down_and_comes_up() {
        let played = said(&[&[0x90, 60, 80], &[0x80, 60, 64]]);
        assert_eq!(played, [(1, Down { key: 60, velocity: 80 }), (1, Up { key: 60 })]);
    }

    #[test]
    fn a_key_that_goes_down_with_no_velocity_comes_up() {
        assert_eq!(said(&[&[0x9F, 60, 0]]), [(16, Up { key: 60 })]);
    }

    #[test]
    fn a_status_may_be_left_out_and_a_message_come_in_pieces() {
        let played = said(&[&[0x92, 60, 80, 60, 0, 62], &[90], &[62, 0]]);
        let down = |key, velocity| (3, Down { key, velocity });
        assert_eq!(played, [down(60, 80), (3, Up { key: 60 }), down(62, 90), (3, Up { key: 62 })]);
    }

    #[test]
    fn the_clock_ticks_inside_a_message_and_harms_nothing() {
        assert_eq!(said(&[&[0x90, 0xF8, 60, 0xFE, 80]]), [(1, Down { key: 60, velocity: 80 })]);
    }

    #[test]
    fn what_a_maker_adds_is_passed_over_to_its_end() {
        let played = said(&[&[0xF0, 0x7E, 60, 80, 61, 80, 0xF7, 60, 80], &[0xC0, 5, 6], &[0x90, 61, 1]]);
        assert_eq!(played, [(1, Down { key: 61, velocity: 1 })]);
    }

    #[test]
    fn bend_comes_low_part_first_and_pressure_in_one_byte() {
        let played = said(&[&[0xE0, 0, 64, 127, 127], &[0xD3, 90, 91]]);
        let bend = |value| (1, Bend { value });
        assert_eq!(played, [bend(8192), bend(16_383), (4, Pressure { value: 90 }), (4, Pressure { value: 91 })]);
    }

    #[test]
    fn a_pedal_is_told_and_all_notes_off_lets_every_key_go() {
        let control = |number, value| (1, Control { number, value });
        assert_eq!(said(&[&[0xB0, 64, 127, 67, 0], &[0xB0, 123, 0]]), [control(64, 127), control(67, 0), (1, AllUp)]);
    }
}
