//! How a validator is asked, and what it answered.

use std::{
    path::{Path, PathBuf},
    process::{Command, Output},
};

use super::everything::File;

/// The exit code with which the scripts of `tests/judges` say that their judge is not here.
const NOT_HERE: i32 = 3;

/// A validator and what it is for.
pub(super) struct Judge {
    pub(super) name: &'static str,
    /// Ends of the names of its files.
    pub(super) ends: &'static [&'static str],
    run: Run,
}

/// How it is asked. In words `{judges}`, `{data}` and `{kml}` stand for what this project keeps.
pub(super) enum Run {
    /// One run of a program for all files, which stand at the end.
    Together(&'static [&'static str]),
    /// One run for each file, which stands where `{file}` is, or at the end.
    Each(&'static [&'static str]),
    /// Looked at by a test's own eyes, with these programs.
    Own(&'static [&'static str], fn(&Path) -> Result<(), String>),
}

impl Judge {
    pub(super) const fn new(name: &'static str, ends: &'static [&'static str], run: Run) -> Self {
        Self { name, ends, run }
    }

    /// The faults it finds in these files; an error says why it is not here.
    pub(super) fn ask(&self, files: &[&File]) -> Result<Vec<String>, String> {
        let mut faults = Vec::new();
        match &self.run {
            Run::Together(words) => faults.extend(fault(&asked(words, files)?)),
            Run::Each(words) => {
                for file in files {
                    let found = fault(&asked(words, &[file])?);
                    faults.extend(found.map(|fault| format!("{}: {fault}", file.name)));
                }
            }
            Run::Own(programs, look) => {
                programs.iter().try_for_each(|program| here(program))?;
                let found = files.iter().filter_map(|file| {
                    look(&file.path).err().map(|fault| format!("{}: {fault}", file.name))
                });
                faults.extend(found);
            }
        }
        Ok(faults)
    }
}

/// A word of a command, spelt out.
fn spelt(word: &str) -> String {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let text = |path: PathBuf| path.to_str().expect("a plain path").to_owned();
    let word = word.replace("{judges}", &text(root.join("tests/judges")));
    word.replace("{data}", &text(root.join("tests/data")))
}

/// The schema of KML 2.2, which comes with fastkml.
fn kml_schema() -> PathBuf {
    let installed = "target/judges/python/fastkml/schema/ogckml22.xsd";
    let named = std::env::var_os("CATCHWIRE_KML_XSD").map(PathBuf::from);
    named.unwrap_or_else(|| Path::new(env!("CARGO_MANIFEST_DIR")).join(installed))
}

/// Whether a program is at hand.
fn here(program: &str) -> Result<(), String> {
    let path = std::env::var_os("PATH").unwrap_or_default();
    // A name with a folder in it is looked for as it is.
    let found = std::env::split_paths(&path).any(|folder| folder.join(program).is_file());
    if found { Ok(()) } else { Err(format!("{program} is not here")) }
}

/// What a program says of these files.
fn asked(words: &[&str], files: &[&File]) -> Result<Output, String> {
    let mut spelt_out: Vec<String> = Vec::new();
    let mut named = false;
    for word in words {
        match *word {
            "{file}" => {
                named = true;
                spelt_out.push(files[0].path.to_str().expect("a plain path").to_owned());
            }
            "{kml}" => {
                let schema = kml_schema();
                if !schema.is_file() {
                    return Err(format!("{} is not here", schema.display()));
                }
                spelt_out.extend(["--schema".to_owned(), schema.display().to_string()]);
            }
            word => {
                let path = spelt(word);
                if path != word && !Path::new(&path).exists() {
                    return Err(format!("{path} is not here"));
                }
                spelt_out.push(path);
            }
        }
    }
    here(&spelt_out[0])?;
    let mut command = Command::new(&spelt_out[0]);
    command.args(&spelt_out[1..]).args(files.iter().filter(|_| !named).map(|file| &file.path));
    // A reader leaves no side file beside what it judges.
    let output = command.env("GDAL_PAM_ENABLED", "NO").output();
    let output = output.map_err(|error| format!("{}: {error}", spelt_out[0]))?;
    if output.status.code() == Some(NOT_HERE) && words.iter().any(|word| word.contains("{judges}"))
    {
        return Err(String::from_utf8_lossy(&output.stderr).trim().to_owned());
    }
    Ok(output)
}

/// What is wrong, if something is. GDAL may tell of an error and end with 0.
fn fault(output: &Output) -> Option<String> {
    let [told, why] = [&output.stdout, &output.stderr].map(|said| String::from_utf8_lossy(said));
    let fine = output.status.success() && !why.contains("ERROR") && !why.contains("Warning");
    (!fine).then(|| format!("{}\n{told}\n{why}", output.status))
}
