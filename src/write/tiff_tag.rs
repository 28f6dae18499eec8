//! One more text in the first directory of a TIFF: what the writer of rasters has no word for.
//!
//! # Source
//! TIFF Revision 6.0 (Adobe 1992), §2: directories of twelve bytes an entry, rising tags, offsets
//! from the start of the file.

/// Tags whose values are themselves offsets: `StripOffsets`, `TileOffsets`, `SubIFDs`.
const OFFSETS: [u16; 3] = [273, 324, 330];
/// The type of texts, and of whole numbers of four bytes.
const ASCII: u16 = 2;
const LONG: u16 = 4;
/// Bytes of an entry.
const ENTRY: usize = 12;

/// A classic little-endian TIFF with a text under a tag that its first directory does not have yet.
///
/// Everything behind that directory moves back by the entry and the text, and every offset with it.
/// `None` for bytes that are no such file.
pub(super) fn with_text(bytes: &[u8], tag: u16, text: &str) -> Option<Vec<u8>> {
    if bytes.get(..4)? != b"II\x2a\0" || !text.is_ascii() {
        return None;
    }
    let first = at(bytes, 4)?;
    let end = first + 2 + ENTRY * usize::from(short(bytes, first)?) + 4;
    // Offsets are even, and a text ends with a zero.
    let length = text.len() + 1;
    let moved = ENTRY + length + length % 2;
    let mut file = Tiff { bytes: bytes.to_vec(), end, moved };
    file.move_offsets()?;
    let place = file.place_for(first, tag)?;
    let entry = entry(tag, length, end + ENTRY)?;
    let Tiff { mut bytes, .. } = file;
    let count = short(&bytes, first)?.checked_add(1)?;
    bytes[first..first + 2].copy_from_slice(&count.to_le_bytes());
    let mut text = text.as_bytes().to_vec();
    text.resize(moved - ENTRY, 0);
    bytes.splice(end..end, text);
    bytes.splice(place..place, entry);
    Some(bytes)
}

fn entry(tag: u16, length: usize, offset: usize) -> Option<[u8; ENTRY]> {
    let mut entry = [0; ENTRY];
    entry[..2].copy_from_slice(&tag.to_le_bytes());
    entry[2..4].copy_from_slice(&ASCII.to_le_bytes());
    entry[4..8].copy_from_slice(&u32::try_from(length).ok()?.to_le_bytes());
    entry[8..].copy_from_slice(&u32::try_from(offset).ok()?.to_le_bytes());
    // Up to four bytes stand in the entry itself.
    (length > 4).then_some(entry)
}

/// A file whose part from `end` on is about to move.
struct Tiff {
    bytes: Vec<u8>,
    end: usize,
    moved: usize,
}

impl Tiff {
    /// Every offset of every directory, to where its bytes will be.
    fn move_offsets(&mut self) -> Option<()> {
        let mut directory = self.moved_from(4)?;
        while directory != 0 {
            let entries = usize::from(short(&self.bytes, directory)?);
            for entry in 0..entries {
                self.move_entry(directory + 2 + ENTRY * entry)?;
            }
            directory = self.moved_from(directory + 2 + ENTRY * entries)?;
        }
        Some(())
    }

    fn move_entry(&mut self, entry: usize) -> Option<()> {
        let (tag, kind) = (short(&self.bytes, entry)?, short(&self.bytes, entry + 2)?);
        let count = at(&self.bytes, entry + 4)?;
        let is_inside = size(kind)? * count <= 4;
        let values = if is_inside { entry + 8 } else { self.moved_from(entry + 8)? };
        if OFFSETS.contains(&tag) {
            let are_long = kind == LONG;
            are_long.then_some(())?;
            for value in 0..count {
                self.moved_from(values + 4 * value)?;
            }
        }
        Some(())
    }

    /// Moves the offset that stands at a place; gives where it led before.
    fn moved_from(&mut self, place: usize) -> Option<usize> {
        let before = at(&self.bytes, place)?;
        let after = if before >= self.end { before + self.moved } else { before };
        let after = u32::try_from(after).ok()?;
        self.bytes[place..place + 4].copy_from_slice(&after.to_le_bytes());
        Some(before)
    }

    /// Where an entry belongs; `None` when its tag is there.
    fn place_for(&self, directory: usize, tag: u16) -> Option<usize> {
        let entries = usize::from(short(&self.bytes, directory)?);
        let places = (0..entries).map(|entry| directory + 2 + ENTRY * entry);
        for place in places {
            let other = short(&self.bytes, place)?;
            if other >= tag {
                return (other > tag).then_some(place);
            }
        }
        Some(directory + 2 + ENTRY * entries)
    }
}

/// Bytes of a value of a type.
const fn size(kind: u16) -> Option<usize> {
    match kind {
        1 | 2 | 6 | 7 => Some(1),
        3 | 8 => Some(2),
        4 | 9 | 11 => Some(4),
        5 | 10 | 12 => Some(8),
        _ => None,
    }
}

fn short(bytes: &[u8], place: usize) -> Option<u16> {
    Some(u16::from_le_bytes(bytes.get(place..place + 2)?.try_into().ok()?))
}

fn at(bytes: &[u8], place: usize) -> Option<usize> {
    let four = bytes.get(place..place + 4)?.try_into().ok()?;
    usize::try_from(u32::from_le_bytes(four)).ok()
}
