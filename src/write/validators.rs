//! Programs of others that judge what is written; a test without its program says so and passes.
//! `scripts/setup-judges.sh` installs them.

use std::{
    path::{Path, PathBuf},
    process::Command,
};

/// The exit code with which the scripts of `tests/judges` say that their judge is not here.
const NOT_HERE: i32 = 3;

fn of_project(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

/// Runs a program on bytes in a file of that name; panics when it finds a fault.
fn judge(program: &str, arguments: &[&str], name: &str, bytes: &[u8]) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(name);
    std::fs::OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(&path)
        .and_then(|mut file| std::io::Write::write_all(&mut file, bytes))
        .unwrap();
    match Command::new(program).args(arguments).arg(&path).output() {
        Ok(output) => {
            let [told, why] = [output.stdout, output.stderr]
                .map(|said| String::from_utf8_lossy(&said).into_owned());
            if output.status.code() == Some(NOT_HERE) && program != "xmllint" {
                return skipped(program, &why);
            }
            assert!(output.status.success(), "{program}: {told}{why}");
        }
        Err(error) => skipped(program, &error.to_string()),
    }
}

fn skipped(program: &str, why: &str) {
    // Straight to the stream: the test harness keeps what a passing test prints to itself.
    let _ = std::io::Write::write_all(
        &mut std::io::stderr(),
        format!("skipped: {program} is not here ({why})\n").as_bytes(),
    );
}

/// `xmllint` with the schema of KML 2.2 that comes with `fastkml`, or the one that
/// `CATCHWIRE_KML_XSD` names.
pub(crate) fn kml(bytes: &[u8]) {
    let installed = of_project("target/judges/python/fastkml/schema/ogckml22.xsd");
    let schema = std::env::var_os("CATCHWIRE_KML_XSD").map_or(installed, PathBuf::from);
    if !schema.is_file() {
        return skipped("xmllint", "no schema of KML");
    }
    let schema = schema.display().to_string();
    judge("xmllint", &["--noout", "--nonet", "--schema", &schema], "doc.kml", bytes);
}

/// npm's `@placemarkio/check-geojson`, run by `node`; `CATCHWIRE_CHECK_GEOJSON` names another folder
/// of it.
pub(crate) fn geojson(bytes: &[u8]) {
    let script = of_project("tests/judges/geojson.mjs").display().to_string();
    judge("node", &[&script], "layer.geojson", bytes);
}

/// The validator of GeoPackages that comes with GDAL for the system's Python.
pub(crate) fn geopackage(bytes: &[u8]) {
    let script = of_project("tests/judges/judge.py").display().to_string();
    judge("/usr/bin/python3", &[&script, "validate_gpkg"], "layers.gpkg", bytes);
}
