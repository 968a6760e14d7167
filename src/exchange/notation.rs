/// A kind of file that holds notation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotationKind {
    /// A Standard MIDI File.
    Midi,
    /// MusicXML, plain or compressed.
    Score,
}

impl NotationKind {
    /// Number of first bytes that show what kind of file it is.
    pub const HEAD: usize = 12;

    /// The kind of file that its first bytes show; `None` for anything else, such as a recording.
    #[must_use]
    pub fn of(head: &[u8]) -> Option<Self> {
        // A RIFF file is a recording unless it says that MIDI is in it; a byte order mark may stand before XML.
        if head.starts_with(b"MThd") || (head.starts_with(b"RIFF") && head.get(8..12) == Some(b"RMID")) {
            return Some(Self::Midi);
        }
        [&b"<"[..], b"\xef\xbb\xbf<", b"PK"].iter().any(|start| head.starts_with(start)).then_some(Self::Score)
    }
}
