use std::io::{Cursor, Read};

use quick_xml::Reader;
use quick_xml::events::Event;
use zip::ZipArchive;

use crate::exchange::voice::{MOST_BYTES, Refused};

/// Where a compressed score says which of its files is the score.
const CONTAINER: &str = "META-INF/container.xml";

/// The score in a compressed MusicXML file: the first `rootfile` that its container names and does not say to be something else (MusicXML
/// 4.0, "Compressed .mxl files"). No more is unpacked than the largest score may have.
pub(super) fn score(bytes: &[u8]) -> Result<Vec<u8>, Refused> {
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(|error| damaged(&error))?;
    let container = file(&mut archive, CONTAINER)?;
    let name = rootfile(&container).ok_or_else(|| damaged(&format!("its {CONTAINER} names no score")))?;
    let score = file(&mut archive, &name)?;
    if score.starts_with(b"PK") {
        return Err(damaged(&"it holds another compressed file in place of a score"));
    }
    Ok(score)
}

fn damaged(why: &dyn std::fmt::Display) -> Refused {
    Refused::Damaged { kind: "compressed MusicXML", why: why.to_string() }
}

fn file(archive: &mut ZipArchive<Cursor<&[u8]>>, name: &str) -> Result<Vec<u8>, Refused> {
    let shown: String = name.chars().filter(|c| !c.is_control()).take(80).collect();
    let packed = archive.by_name(name).map_err(|error| damaged(&format!("{shown}: {error}")))?;
    let mut bytes = Vec::new();
    let most = MOST_BYTES as u64 + 1;
    packed.take(most).read_to_end(&mut bytes).map_err(|error| damaged(&format!("{shown}: {error}")))?;
    if bytes.len() > MOST_BYTES { Err(Refused::TooLarge) } else { Ok(bytes) }
}

/// The path of the first root file; a root file that says it is not MusicXML is passed over.
fn rootfile(container: &[u8]) -> Option<String> {
    let mut reader = Reader::from_str(std::str::from_utf8(container).ok()?);
    loop {
        match reader.read_event().ok()? {
            Event::Start(start) | Event::Empty(start) if start.local_name().as_ref() == "rootfile" => {
                let said = |name: &str| start.try_get_attribute(name).ok().flatten().map(|said| said.value.to_string());
                let score = said("media-type").is_none_or(|kind| kind.contains("musicxml"));
                if let Some(path) = said("full-path").filter(|_| score) {
                    return Some(path);
                }
            }
            Event::Eof => return None,
            _ => {}
        }
    }
}
