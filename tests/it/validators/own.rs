//! Judges that are no program, and those whose answer has to be read.

use std::{fs, io::Cursor, path::Path, process::Command};

use crate::support::properties;

fn said(program: &str, arguments: &[&str], file: &Path, more: &[&str]) -> Result<String, String> {
    let mut command = Command::new(program);
    let output = command.args(arguments).arg(file).args(more).output();
    let output = output.map_err(|error| error.to_string())?;
    let told = String::from_utf8_lossy(&output.stdout).into_owned();
    let why = String::from_utf8_lossy(&output.stderr).into_owned();
    if output.status.success() { Ok(told) } else { Err(format!("{program}: {why}")) }
}

fn unless(holds: bool, fault: &str) -> Result<(), String> {
    if holds { Ok(()) } else { Err(fault.to_owned()) }
}

/// A text that JSON's own grammar takes.
pub(super) fn json(file: &Path) -> Result<(), String> {
    let bytes = fs::read(file).map_err(|error| error.to_string())?;
    let value: Result<serde_json::Value, _> = serde_json::from_slice(&bytes);
    value.map(drop).map_err(|error| error.to_string())
}

/// Names that stay inside, the document of a map first, no more than this program would unpack.
pub(super) fn archive(file: &Path) -> Result<(), String> {
    let bytes = fs::read(file).map_err(|error| error.to_string())?;
    let mut zip = zip::ZipArchive::new(Cursor::new(bytes)).map_err(|error| error.to_string())?;
    let mut total = 0;
    for at in 0..zip.len() {
        let entry = zip.by_index(at).map_err(|error| error.to_string())?;
        let name = entry.name().map_err(|error| error.to_string())?.into_owned();
        let inside = !name.split(['/', '\\']).any(|part| ["", "..", "."].contains(&part));
        unless(inside && !name.contains(':'), &format!("`{name}` leads out of it"))?;
        let map = file.extension().is_some_and(|end| end == "kmz");
        unless(!map || at > 0 || name == "doc.kml", &format!("`{name}` is first, not doc.kml"))?;
        total += entry.size();
    }
    unless(total < 400_000_000, &format!("{total} bytes unpacked"))
}

/// Whole, without a dangling key, and marked as a GeoPackage of a version that GDAL knows.
pub(super) fn database(file: &Path) -> Result<(), String> {
    let asks = "pragma integrity_check; pragma foreign_key_check; pragma application_id; \
                pragma user_version";
    let told = said("sqlite3", &["-readonly"], file, &[asks])?;
    let versions = ["10200", "10300", "10400"];
    let fine = versions.iter().any(|version| told == format!("ok\n1196444487\n{version}\n"));
    unless(fine, &told)
}

/// Six numbers, one a line, the last with its line end.
pub(super) fn world_file(file: &Path) -> Result<(), String> {
    let text = fs::read_to_string(file).map_err(|error| error.to_string())?;
    let numbers = text.lines().filter(|line| line.parse::<f64>().is_ok_and(f64::is_finite));
    unless(numbers.count() == 6 && text.lines().count() == 6 && text.ends_with('\n'), &text)
}

/// A title, every font in the file, and the names of block and zones as text.
pub(super) fn document(file: &Path) -> Result<(), String> {
    let about = said("pdfinfo", &[], file, &[])?;
    let title = about.lines().find_map(|line| line.strip_prefix("Title:")).unwrap_or("").trim();
    unless(!title.is_empty(), "no title")?;
    let fonts = said("pdffonts", &[], file, &[])?;
    // Name, type, encoding, embedded, subset, unicode, object and its generation.
    let embedded = |line: &str| line.split_whitespace().rev().nth(4) == Some("yes");
    let fonts: Vec<&str> = fonts.lines().skip(2).collect();
    unless(!fonts.is_empty(), "no font: no text")?;
    let missing = fonts.iter().find(|line| !embedded(line));
    unless(missing.is_none(), &format!("not in the file: {missing:?}"))?;
    let text = said("pdftotext", &[], file, &["-"])?;
    let block = title.split(':').next().unwrap_or(title);
    unless(text.contains(block), &format!("`{block}` is no text in it"))?;
    let zones = file.with_file_name("zones.geojson");
    let zones = if zones.exists() { properties(&zones) } else { Vec::new() };
    let ids = zones.iter().filter_map(|zone| zone["zone"].as_str());
    let lacking: Vec<&str> = ids.filter(|id| !text.contains(id)).collect();
    unless(lacking.is_empty(), &format!("{lacking:?} are no text in it"))
}
