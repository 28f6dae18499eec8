//! Programs of others that judge what is written; a test without its program says so and passes.

use std::{path::PathBuf, process::Command};

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
        Ok(output) => assert!(
            output.status.success(),
            "{program}: {}{}",
            String::from_utf8_lossy(&output.stdout),
            String::from_utf8_lossy(&output.stderr),
        ),
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

/// `xmllint` with the schema of KML 2.2, which `CATCHWIRE_KML_XSD` points to (`PyPI`'s `fastkml` has
/// it).
pub(crate) fn kml(bytes: &[u8]) {
    let Some(schema) = std::env::var_os("CATCHWIRE_KML_XSD").map(PathBuf::from) else {
        return skipped("xmllint", "CATCHWIRE_KML_XSD names no schema");
    };
    let schema = schema.display().to_string();
    judge("xmllint", &["--noout", "--nonet", "--schema", &schema], "doc.kml", bytes);
}

/// npm's `@placemarkio/check-geojson`, whose folder `CATCHWIRE_CHECK_GEOJSON` names, run by `node`.
pub(crate) fn geojson(bytes: &[u8]) {
    let Some(module) = std::env::var_os("CATCHWIRE_CHECK_GEOJSON").map(PathBuf::from) else {
        return skipped("check-geojson", "CATCHWIRE_CHECK_GEOJSON names no folder");
    };
    let script = "require(process.argv[1]).check(\
                  require('fs').readFileSync(process.argv[2], 'utf8'))";
    let module = module.display().to_string();
    judge("node", &["-e", script, &module], "layer.geojson", bytes);
}

/// The validator of GeoPackages that comes with GDAL for the system's Python.
pub(crate) fn geopackage(bytes: &[u8]) {
    let python = "/usr/bin/python3";
    let here =
        Command::new(python).args(["-c", "import osgeo_utils.samples.validate_gpkg"]).output();
    if !here.is_ok_and(|output| output.status.success()) {
        return skipped("validate_gpkg", "install python3-gdal");
    }
    judge(python, &["-m", "osgeo_utils.samples.validate_gpkg"], "layers.gpkg", bytes);
}
