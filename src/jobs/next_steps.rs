//! What to do next with what a run wrote: no step names a file that is not there.

use super::Report;

/// What is said while nothing is written.
const DRY: &str = "nothing is written yet: run the same without --dry-run";

impl Report {
    /// Says what to do next; after a dry run there is one thing to do.
    pub(super) fn go_on(&mut self, steps: impl IntoIterator<Item = String>) {
        self.next = if self.dry_run {
            vec![DRY.to_owned()]
        } else {
            steps.into_iter().filter(|step| !step.is_empty()).collect()
        };
    }

    /// True when the run wrote a file of this name, for any block.
    pub(super) fn wrote(&self, name: &str) -> bool {
        self.files.iter().any(|file| file.file.rsplit('/').next() == Some(name))
    }

    /// `words` where the run wrote the file that they name.
    pub(super) fn with(&self, name: &str, words: &str) -> String {
        if self.wrote(name) { words.to_owned() } else { String::new() }
    }

    /// "look at a, b and c" with those of the files that the run wrote, and then what remains to do.
    pub(super) fn look_at(&self, names: &[&str], then: &str) -> String {
        let written: Vec<&str> = names.iter().copied().filter(|name| self.wrote(name)).collect();
        match written.split_last() {
            None => then.to_owned(),
            Some((only, [])) => format!("look at {only}; {then}"),
            Some((last, others)) => format!("look at {} and {last}; {then}", others.join(", ")),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::jobs::report::FileReport;

    fn report(files: &[&str]) -> Report {
        let file =
            |name: &&str| FileReport { file: format!("north/{name}"), bytes: 1, replaces: false };
        Report { files: files.iter().map(file).collect(), ..Report::default() }
    }

    #[test]
    fn files_that_were_not_written_are_not_named() {
        let all = report(&["a.png", "b.csv", "c.csv"]);
        assert_eq!(
            all.look_at(&["a.png", "b.csv", "c.csv"], "walk"),
            "look at a.png, b.csv and c.csv; walk"
        );
        let some = report(&["b.csv"]);
        assert_eq!(some.look_at(&["a.png", "b.csv"], "walk"), "look at b.csv; walk");
        assert_eq!(some.look_at(&["a.png"], "walk"), "walk");
        assert_eq!(some.with("a.png", "print a.png"), "");
        assert_eq!(some.with("b.csv", "fill in b.csv"), "fill in b.csv");
    }

    #[test]
    fn after_a_dry_run_there_is_one_thing_to_do() {
        let mut dry = Report { dry_run: true, ..report(&["a.png"]) };
        dry.go_on(["look at a.png".to_owned()]);
        assert_eq!(dry.next, [DRY]);
        let mut written = report(&["a.png"]);
        written.go_on([String::new(), "look at a.png".to_owned()]);
        assert_eq!(written.next, ["look at a.png"]);
    }
}
