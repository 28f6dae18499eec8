//! Several files as one zip archive, the same bytes every time.

use std::io::{Cursor, Write};

use zip::{CompressionMethod, DateTime, ZipWriter, write::SimpleFileOptions};

use crate::error::Error;

/// A zip archive of some files, in this order, without a clock time.
///
/// # Errors
/// A fault of the program: a name that comes twice.
pub fn zip(files: &[(&str, &[u8])]) -> Result<Vec<u8>, Error> {
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .last_modified_time(DateTime::DEFAULT)
        .unix_permissions(0o644);
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    let refuse = |error: zip::result::ZipError| Error::Unexpected(format!("no archive: {error}"));
    for (name, bytes) in files {
        archive.start_file(*name, options).map_err(refuse)?;
        archive
            .write_all(bytes)
            .map_err(|error| Error::Unexpected(format!("no archive: {error}")))?;
    }
    Ok(archive.finish().map_err(refuse)?.into_inner())
}

#[cfg(test)]
mod tests {
    use std::io::Read;

    use zip::ZipArchive;

    use super::*;

    #[test]
    fn what_went_in_comes_out_in_order_and_the_bytes_are_the_same() {
        let files: [(&str, &[u8]); 2] = [("doc.kml", b"<kml/>"), ("a/b.txt", &[7; 5000])];
        let bytes = zip(&files).unwrap();
        assert_eq!(bytes, zip(&files).unwrap());
        let mut archive = ZipArchive::new(Cursor::new(bytes)).unwrap();
        for (index, (name, expected)) in files.iter().enumerate() {
            let mut entry = archive.by_index(index).unwrap();
            let mut found = Vec::new();
            entry.read_to_end(&mut found).unwrap();
            assert_eq!(entry.name().unwrap(), *name);
            assert_eq!(found, *expected);
        }
        assert!(zip(&[("x", b""), ("x", b"")]).is_err());
    }
}
