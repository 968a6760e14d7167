//! Ways to spoil a session file.

use serde_json::Value;

use crate::chance::Chance;

/// Extreme numbers, and words that are no numbers.
const NUMBERS: [&str; 28] = [
    "0",
    "-0.0",
    "1",
    "-1",
    "0.1",
    "3.5",
    "20",
    "127",
    "128",
    "255",
    "256",
    "65535",
    "86400",
    "1e9",
    "-1e9",
    "1e15",
    "1e308",
    "-1e308",
    "5e-324",
    "1e999",
    "NaN",
    "-Infinity",
    "2147483647",
    "-2147483648",
    "4294967295",
    "4294967296",
    "9223372036854775807",
    "18446744073709551616",
];
/// Values of other types, among them hostile texts.
const VALUES: [&str; 16] = [
    "null",
    "true",
    "\"\"",
    "[]",
    "{}",
    "[null]",
    "[[[[[[]]]]]]",
    "\"NaN\"",
    "\"0\"",
    "\"C\"",
    "\"judged\"",
    "\"\\u001b[2J\\u001b]0;x\\u0007\"",
    "\"../../../etc/passwd\"",
    "\"\\u202e\\u0000\"",
    "\"<script>\"",
    "\"2099-01-01T00:00:00+01:00\"",
];
/// Stands in the JSON for a value that JSON cannot write, until the line is written.
const MARK: &str = "\"@@\"";

/// Changes, takes out, puts in, repeats or cuts off a few bytes among the first `within`.
pub fn spoil_bytes(mut bytes: Vec<u8>, within: usize, chance: &mut Chance) -> Vec<u8> {
    for _ in 0..chance.pick(&[1, 2, 4, 8, 16]) {
        let length = within.min(bytes.len());
        if length == 0 {
            break;
        }
        let at = chance.whole(0, length as i32 - 1) as usize;
        let end = (at + chance.pick(&[1, 2, 7, 100, 5000])).min(bytes.len());
        match chance.whole(0, 6) {
            0 => bytes[at] = chance.whole(0, 255) as u8,
            1 => bytes[at] ^= 1 << chance.whole(0, 7),
            2 => drop(bytes.drain(at..end)),
            3 => drop(bytes.splice(at..at, (0..7).map(|_| chance.whole(0, 255) as u8))),
            4 => bytes[at..end].fill(0),
            5 => bytes[at..end.min(at + 4)].fill(chance.pick(&[0xff, 0x7f, 0])),
            _ => {
                let again = bytes[at..end].to_vec();
                drop(bytes.splice(at..at, again));
            }
        }
    }
    if chance.happens(0.15) {
        bytes.truncate(chance.whole(0, bytes.len() as i32) as usize);
    }
    bytes
}

/// Spoils a few lines of a record: their values, their order, their number or their text.
pub fn spoil_record(record: Vec<u8>, chance: &mut Chance) -> Vec<u8> {
    let mut lines: Vec<Vec<u8>> = record.split(|byte| *byte == b'\n').map(<[u8]>::to_vec).collect();
    for _ in 0..chance.pick(&[1, 1, 2, 4]) {
        if lines.is_empty() {
            break;
        }
        let [at, other] = [0, 1].map(|_| chance.whole(0, lines.len() as i32 - 1) as usize);
        match chance.whole(0, 11) {
            0..=6 => lines[at] = spoil_value(&lines[at], chance),
            7 => drop(lines.remove(at)),
            8 => lines.swap(at, other),
            9 => {
                let again = vec![lines[at].clone(); chance.pick(&[1, 50, 2000])];
                drop(lines.splice(at..at, again));
            }
            10 => {
                let odd: [&[u8]; 6] =
                    [b"", b"\xff\xfe\0", b"{}", b"null", b"\xef\xbb\xbf{", b"{\"event\":\"future\",\"at_s\":1}"];
                lines[at] = chance.pick(&odd).to_vec();
            }
            _ => lines[at] = vec![chance.pick(b"x[{\" "); chance.pick(&[5000, 2_000_000])],
        }
    }
    lines.join(&b'\n')
}

/// Gives one value in a line of JSON another type, size or place, or takes it out.
fn spoil_value(line: &[u8], chance: &mut Chance) -> Vec<u8> {
    let Ok(mut value) = serde_json::from_slice::<Value>(line) else { return line.to_vec() };
    let mut places = Vec::new();
    list(&value, String::new(), &mut places);
    if places.is_empty() {
        return line.to_vec();
    }
    let chosen = places[chance.whole(0, places.len() as i32 - 1) as usize].clone();
    let other = places[chance.whole(0, places.len() as i32 - 1) as usize].clone();
    let moved = value.pointer(&other).cloned().unwrap_or_default();
    let Some(there) = value.pointer_mut(&chosen) else { return line.to_vec() };
    let mut instead = None;
    match (chance.whole(0, 6), &mut *there) {
        (0, Value::Array(list)) => *list = list.iter().cycle().take(list.len() * 3000).cloned().collect(),
        (0 | 1, _) => *there = moved,
        (2 | 3, Value::Number(number)) => {
            let number = number.as_f64().unwrap_or_default();
            let factor = chance.pick(&[-1.0, 0.0, 0.5, 1.001, 10.0, 1e3, 1e6]);
            *there = serde_json::json!(if number.fract() == 0.0 {
                number + chance.pick(&[1.0, -1.0, 0.5])
            } else {
                number * factor
            });
        }
        (4, Value::Object(fields)) => drop(fields.pop_first_of(chance)),
        (2..=4, _) => instead = Some(chance.pick(&NUMBERS)),
        _ => instead = Some(chance.pick(&VALUES)),
    }
    if instead.is_some() {
        *there = serde_json::json!("@@");
    }
    value.to_string().replacen(MARK, instead.unwrap_or(MARK), 1).into_bytes()
}

/// Takes one field out of an object, whichever it is.
trait PopAny {
    fn pop_first_of(&mut self, chance: &mut Chance) -> Option<Value>;
}

impl PopAny for serde_json::Map<String, Value> {
    fn pop_first_of(&mut self, chance: &mut Chance) -> Option<Value> {
        let name = self.keys().nth(chance.whole(0, self.len() as i32 - 1).max(0) as usize)?.clone();
        self.remove(&name)
    }
}

/// The places of all values below this one, as JSON pointers (RFC 6901).
fn list(value: &Value, at: String, places: &mut Vec<String>) {
    match value {
        Value::Object(fields) => fields.iter().for_each(|(name, below)| list(below, format!("{at}/{name}"), places)),
        Value::Array(all) => all.iter().enumerate().for_each(|(n, below)| list(below, format!("{at}/{n}"), places)),
        _ => {}
    }
    if !at.is_empty() {
        places.push(at);
    }
}

/// Spoils the headers of a zip (APPNOTE 6.3.10, 4.3): its sizes, places, counts and methods. By chance the zip is also cut off, or bytes
/// are added before or after it.
pub fn spoil_zip(mut bytes: Vec<u8>, chance: &mut Chance) -> Vec<u8> {
    let heads: Vec<(usize, i32)> = (0..bytes.len().saturating_sub(4))
        .filter_map(|at| match &bytes[at..at + 4] {
            b"PK\x03\x04" => Some((at, 40)),
            b"PK\x01\x02" => Some((at, 56)),
            b"PK\x05\x06" => Some((at, 21)),
            _ => None,
        })
        .collect();
    for _ in 0..chance.pick(&[1, 1, 2, 3]) {
        let (head, length) = chance.pick(&heads);
        let at = (head + chance.whole(4, length) as usize).min(bytes.len() - 1);
        let end = (at + chance.pick(&[1, 2, 4])).min(bytes.len());
        match chance.whole(0, 2) {
            0 => bytes[at] ^= 1 << chance.whole(0, 7),
            1 => bytes[at..end].fill(chance.pick(&[0, 0xff, 0x7f])),
            _ => bytes[at] = chance.pick(&[0, 1, 8, 9, 12, 14, 99]),
        }
    }
    match chance.whole(0, 5) {
        0 => bytes.truncate(chance.whole(0, bytes.len() as i32) as usize),
        1 => drop(bytes.splice(0..0, b"before it".repeat(1000))),
        2 => bytes.extend(b"after it".repeat(chance.pick(&[1, 10_000]))),
        _ => {}
    }
    bytes
}

/// Spoils a FLAC file: its header (RFC 9639, section 8), or what follows the header.
pub fn spoil_flac(mut bytes: Vec<u8>, chance: &mut Chance) -> Vec<u8> {
    match chance.whole(0, 4) {
        0 => return spoil_bytes(bytes, 42, chance),
        1 => return spoil_bytes(bytes, usize::MAX, chance),
        // Rate, channels, bits and count of samples.
        2 => {
            let packed = chance.pick(&[
                0,
                1,
                0xf_ffff_u64 << 44,
                48_000 << 44 | 7 << 41 | 15 << 36,
                48_000 << 44 | 0x1f_ffff_ffff,
                u64::MAX,
            ]);
            bytes[18..26].copy_from_slice(&packed.to_be_bytes());
        }
        // Sizes of blocks.
        3 => {
            let [least, most] = [0, 1].map(|_| chance.pick(&[0_u16, 1, 16, 65_535]).to_be_bytes());
            bytes[8..12].copy_from_slice(&[least, most].concat());
        }
        // A block of metadata as long as can be said.
        _ => {
            bytes[4] &= 0x7f;
            drop(bytes.splice(42..42, [0x80 | chance.pick(&[1, 4, 6, 126]), 0xff, 0xff, 0xff]));
        }
    }
    bytes
}
