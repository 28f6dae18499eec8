//! A geometry of a GeoPackage: a head of its own, then well-known binary.
//!
//! After OGC 12-128r19 §2.1.3 and OGC 06-103r4 §8. Heights and measures are read and dropped with
//! the rest of a position; curves and surfaces in space are named, not guessed at.

use geojson::{GeometryValue, Position};

/// Deeper collections in collections are no map.
const DEEPEST: usize = 8;

/// The geometry of a blob; `None` for an empty one.
///
/// # Errors
/// What is wrong with it, in words.
pub(super) fn geometry_of(blob: &[u8]) -> Result<Option<GeometryValue>, String> {
    let &[b'G', b'P', _, flags, ..] = blob else {
        return Err("no geometry of a GeoPackage".to_owned());
    };
    if flags & 0b10_0000 != 0 {
        return Err("a geometry of an extended kind".to_owned());
    }
    let envelope = match (flags >> 1) & 0b111 {
        0 => 0,
        1 => 32,
        2 | 3 => 48,
        4 => 64,
        _ => return Err("a geometry with an unknown envelope".to_owned()),
    };
    if flags & 0b1_0000 != 0 {
        return Ok(None);
    }
    let mut reader = Reader { bytes: blob.get(8 + envelope..).ok_or_else(cut_off)? };
    reader.geometry(0).map(Some)
}

fn cut_off() -> String {
    "a geometry that is cut off".to_owned()
}

struct Reader<'a> {
    bytes: &'a [u8],
}

/// The head of a geometry in well-known binary.
#[derive(Clone, Copy)]
struct Head {
    kind: u32,
    little: bool,
    /// Numbers of a position.
    numbers: usize,
    /// The third of them is a height.
    height: bool,
}

impl Reader<'_> {
    fn geometry(&mut self, depth: usize) -> Result<GeometryValue, String> {
        let head = self.head()?;
        Ok(match head.kind {
            1 => GeometryValue::Point { coordinates: self.position(head)? },
            2 => GeometryValue::LineString { coordinates: self.line(head)? },
            3 => GeometryValue::Polygon { coordinates: self.lines(head)? },
            4..=7 if depth >= DEEPEST => return Err("collections in collections".to_owned()),
            4..=7 => gathered(head.kind, self.several(head, depth)?)?,
            8..=14 => return Err("a curve; draw it with straight sides".to_owned()),
            15..=17 => return Err("a surface in three dimensions".to_owned()),
            other => return Err(format!("a geometry of kind {other}")),
        })
    }

    fn head(&mut self) -> Result<Head, String> {
        let little = self.take(1)?[0] == 1;
        let code = self.number(little)?;
        // Kinds are ISO's thousands, or the flags that an older dialect sets.
        let (iso, flags) = (code & 0x0fff_ffff, code >> 28);
        if flags & 0b0010 != 0 {
            self.number(little)?;
        }
        let dimensions = iso / 1000;
        if dimensions > 3 {
            return Err(format!("a geometry of kind {iso}"));
        }
        let height = dimensions == 1 || dimensions == 3 || flags & 0b1000 != 0;
        let measure = dimensions >= 2 || flags & 0b0100 != 0;
        let numbers = 2 + usize::from(height) + usize::from(measure);
        Ok(Head { kind: iso % 1000, little, numbers, height })
    }

    fn position(&mut self, head: Head) -> Result<Position, String> {
        let mut numbers = Vec::with_capacity(head.numbers);
        for bytes in self.take(8 * head.numbers)?.chunks_exact(8) {
            let mut eight = [0; 8];
            eight.copy_from_slice(bytes);
            numbers.push(if head.little {
                f64::from_le_bytes(eight)
            } else {
                f64::from_be_bytes(eight)
            });
        }
        numbers.truncate(2 + usize::from(head.height));
        Ok(Position::from(numbers))
    }

    fn line(&mut self, head: Head) -> Result<Vec<Position>, String> {
        let count = self.count(head.little, 8 * head.numbers)?;
        (0..count).map(|_| self.position(head)).collect()
    }

    fn lines(&mut self, head: Head) -> Result<Vec<Vec<Position>>, String> {
        let count = self.count(head.little, 4)?;
        (0..count).map(|_| self.line(head)).collect()
    }

    fn several(&mut self, head: Head, depth: usize) -> Result<Vec<GeometryValue>, String> {
        let count = self.count(head.little, 5)?;
        (0..count).map(|_| self.geometry(depth + 1)).collect()
    }

    /// A number of things of at least so many bytes each: more than are there is a fault.
    fn count(&mut self, little: bool, least_bytes: usize) -> Result<usize, String> {
        let count = usize::try_from(self.number(little)?).unwrap_or(usize::MAX);
        if count.saturating_mul(least_bytes) > self.bytes.len() {
            Err(cut_off())
        } else {
            Ok(count)
        }
    }

    fn number(&mut self, little: bool) -> Result<u32, String> {
        let mut four = [0; 4];
        four.copy_from_slice(self.take(4)?);
        Ok(if little { u32::from_le_bytes(four) } else { u32::from_be_bytes(four) })
    }

    fn take(&mut self, count: usize) -> Result<&[u8], String> {
        let (taken, rest) = self.bytes.split_at_checked(count).ok_or_else(cut_off)?;
        self.bytes = rest;
        Ok(taken)
    }
}

/// The parts of a geometry of several as one; parts of another kind are a fault.
fn gathered(kind: u32, parts: Vec<GeometryValue>) -> Result<GeometryValue, String> {
    if kind == 7 {
        // Refused with its name wherever a shape is needed.
        return Ok(GeometryValue::GeometryCollection { geometries: Vec::new() });
    }
    let (mut points, mut lines, mut polygons) = (Vec::new(), Vec::new(), Vec::new());
    for part in parts {
        if let (GeometryValue::Point { coordinates }, 4) = (&part, kind) {
            points.push(coordinates.clone());
        } else if let (GeometryValue::LineString { coordinates }, 5) = (&part, kind) {
            lines.push(coordinates.clone());
        } else if let (GeometryValue::Polygon { coordinates }, 6) = (&part, kind) {
            polygons.push(coordinates.clone());
        } else {
            return Err("parts of different kinds in one geometry".to_owned());
        }
    }
    Ok(match (kind, points.len(), lines.len(), polygons.len()) {
        (4, 1, ..) => GeometryValue::Point { coordinates: points.remove(0) },
        (4, ..) => GeometryValue::MultiPoint { coordinates: points },
        (5, _, 1, _) => GeometryValue::LineString { coordinates: lines.remove(0) },
        (5, ..) => GeometryValue::MultiLineString { coordinates: lines },
        (_, _, _, 1) => GeometryValue::Polygon { coordinates: polygons.remove(0) },
        _ => GeometryValue::MultiPolygon { coordinates: polygons },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A point with a height after a head with an envelope.
    fn point() -> Vec<u8> {
        let mut blob = b"GP\0\x03".to_vec();
        blob.extend(4326_i32.to_le_bytes());
        blob.extend([0; 32]);
        blob.push(1);
        blob.extend(1001_u32.to_le_bytes());
        for number in [5.0_f64, 44.0, 120.0] {
            blob.extend(number.to_le_bytes());
        }
        blob
    }

    #[test]
    fn a_point_is_read_and_every_cut_of_it_refused() {
        let blob = point();
        let expected = GeometryValue::Point { coordinates: Position::from([5.0, 44.0, 120.0]) };
        assert_eq!(geometry_of(&blob), Ok(Some(expected)));
        for end in 0..blob.len() {
            assert!(geometry_of(&blob[..end]).is_err(), "{end} bytes");
        }
    }

    #[test]
    fn what_cannot_be_flattened_is_named() {
        let mut curve = b"GP\0\x01\0\0\0\0\x01".to_vec();
        curve.extend(10_u32.to_le_bytes());
        assert!(geometry_of(&curve).unwrap_err().contains("curve"));
        assert_eq!(geometry_of(b"GP\0\x11\0\0\0\0"), Ok(None));
        let mut endless = b"GP\0\x01\0\0\0\0\x01".to_vec();
        endless.extend(2_u32.to_le_bytes());
        endless.extend(u32::MAX.to_le_bytes());
        assert!(geometry_of(&endless).unwrap_err().contains("cut off"));
    }
}
