//! Which files are to be written: `--write LIST`.

use std::collections::BTreeSet;

use crate::{
    error::Error,
    finding::{Finding, Place},
    names::likeness,
};

/// The files that someone asked for: all of them, or a list.
///
/// A command that cannot name a file beforehand knows it by a pattern with one `*`, such as
/// `stakeout-*.gpx`; the list may hold the pattern or a name that it matches.
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
            .filter(|name| {
                name.as_str() != ALWAYS && !known.iter().any(|known| matches(known, name))
            })
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
        let named = |names: &BTreeSet<String>| names.iter().any(|asked| matches(asked, name));
        name == ALWAYS || self.0.as_ref().is_none_or(named)
    }

    /// True when any file that the pattern of a known one matches is to be written.
    pub fn wants_like(&self, pattern: &str) -> bool {
        let named = |names: &BTreeSet<String>| names.iter().any(|asked| matches(pattern, asked));
        self.0.as_ref().is_none_or(named)
    }

    /// The names that were asked for and that no file of these has: a grid or a number may be
    /// another one.
    pub fn not_among<'a>(&'a self, made: &[&str]) -> Vec<&'a str> {
        let asked = self.0.iter().flatten().map(String::as_str);
        asked.filter(|asked| !made.iter().any(|name| matches(asked, name))).collect()
    }

    /// True when any of these files is to be written: for stages that several files need.
    pub fn wants_any(&self, names: &[&str]) -> bool {
        names.iter().any(|name| self.wants(name))
    }
}

/// True when a name is the pattern itself, or fits it with something for its `*`.
fn matches(pattern: &str, name: &str) -> bool {
    let fits = |(start, end): (&str, &str)| {
        name.len() >= start.len() + end.len() && name.starts_with(start) && name.ends_with(end)
    };
    pattern == name || pattern.split_once('*').is_some_and(fits)
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
    fn a_file_without_a_fixed_name_is_asked_for_by_its_pattern_or_its_name() {
        let known = &["stakeout-*.gpx", "rows.geojson"];
        let by_pattern = Wanted::parse("stakeout-*.gpx", known).unwrap();
        let by_name = Wanted::parse("stakeout-02.gpx", known).unwrap();
        assert!(by_pattern.wants("stakeout-01.gpx") && by_pattern.wants_like("stakeout-*.gpx"));
        assert!(by_name.wants("stakeout-02.gpx") && !by_name.wants("stakeout-01.gpx"));
        assert!(by_name.wants_like("stakeout-*.gpx") && !by_name.wants("rows.geojson"));
        assert_eq!(by_name.not_among(&["stakeout-01.gpx", "run.json"]), ["stakeout-02.gpx"]);
        assert!(by_pattern.not_among(&["stakeout-01.gpx"]).is_empty());
        assert!(Wanted::all().not_among(&[]).is_empty());
        assert!(Wanted::parse("stakeout-01.csv", known).is_err());
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
