//! Which files are to be written: `--write LIST`.

use std::collections::BTreeSet;

use crate::{
    error::Error,
    finding::{Finding, Place},
    names::likeness,
};

/// The files that someone asked for: all of them, or a list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wanted(Option<BTreeSet<String>>);

/// The file that every run writes.
const ALWAYS: &str = "run.json";

impl Wanted {
    /// Every file.
    pub const fn all() -> Self {
        Self(None)
    }

    /// The files of a list with commas, such as `vines.geojson,zones.csv`.
    ///
    /// # Errors
    /// A usage error that names each file that the command does not write, and the nearest it does.
    pub fn parse(list: &str, known: &[&str]) -> Result<Self, Error> {
        let names = list.split(',').map(str::trim).filter(|name| !name.is_empty());
        let names: BTreeSet<String> = names.map(str::to_owned).collect();
        let unknown: Vec<String> = names
            .iter()
            .filter(|name| name.as_str() != ALWAYS && !known.contains(&name.as_str()))
            .map(|name| did_you_mean(name, known))
            .collect();
        if names.is_empty() {
            return Err(refuse("the list of files is empty".to_owned(), known));
        }
        if !unknown.is_empty() {
            return Err(refuse(unknown.join("; "), known));
        }
        Ok(Self(Some(names)))
    }

    /// True when the file is to be written; `run.json` always is.
    pub fn wants(&self, name: &str) -> bool {
        name == ALWAYS || self.0.as_ref().is_none_or(|names| names.contains(name))
    }

    /// True when any of these files is to be written: for stages that several files need.
    pub fn wants_any(&self, names: &[&str]) -> bool {
        names.iter().any(|name| self.wants(name))
    }
}

fn did_you_mean(name: &str, known: &[&str]) -> String {
    let nearest = known.iter().max_by(|a, b| likeness(name, a).total_cmp(&likeness(name, b)));
    match nearest {
        Some(nearest) if likeness(name, nearest) > 0.4 => {
            format!("no file is called `{name}`, did you mean `{nearest}`?")
        }
        _ => format!("no file is called `{name}`"),
    }
}

fn refuse(what: String, known: &[&str]) -> Error {
    let finding = Finding::fault(Place::field("--write"), what);
    Error::Usage(finding.mend(format!("this command writes {}", known.join(", "))))
}

#[cfg(test)]
mod tests {
    use super::*;

    const KNOWN: &[&str] = &["vines.geojson", "zones.csv", "zones.geojson"];

    #[test]
    fn a_list_names_the_files_and_run_json_comes_with_it() {
        let wanted = Wanted::parse("vines.geojson, zones.csv,", KNOWN).unwrap();
        assert!(wanted.wants("zones.csv") && wanted.wants("run.json"));
        assert!(!wanted.wants("zones.geojson"));
        assert!(wanted.wants_any(&["zones.geojson", "zones.csv"]));
        assert!(Wanted::all().wants("anything"));
    }

    #[test]
    fn an_unknown_file_is_refused_with_the_nearest_one() {
        let error = Wanted::parse("vines.geojsn,x", KNOWN).unwrap_err();
        assert_eq!(error.exit_code(), 2);
        let message = error.to_string();
        assert!(message.contains("did you mean `vines.geojson`?"), "{message}");
        assert!(message.contains("no file is called `x`;"), "{message}");
        assert!(Wanted::parse(" , ", KNOWN).is_err());
    }
}
