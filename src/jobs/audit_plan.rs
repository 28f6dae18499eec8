//! The plan that the crew worked by beside the one that an audit makes anew: is it the same?

use std::path::Path;

use crate::{
    error::Error,
    finding::{Finding, Findings, Place},
    jobs::Call,
    read::{self, Inputs},
    write::{
        RunRecord,
        run_record::{FileRecord, OptionGiven, file_name},
    },
};

use super::record;

/// Options that leave what is planned as it is: crews, paper, and how files are read or stop.
const BESIDE: [&str; 9] = [
    "--crew",
    "--hours-per-day",
    "--last-frost",
    "--strict",
    "--paper",
    "--up",
    "--ink",
    "--write",
    "--encoding",
];

/// What is said where nobody says which plan the crew had.
pub(super) fn unknown() -> Finding {
    Finding::note(Place::default(), "the plan is made anew from the counts and options of this run")
        .because("nothing says whether the crew worked by the same one")
        .mend("pass the --out folder of `thin` with --plan")
}

/// Holds the record of the plan of a block against what is read and asked now.
///
/// # Errors
/// A record that cannot be read, or that is none.
pub(super) fn hold(
    call: &Call,
    inputs: &Inputs,
    (plan, folder): (&Path, &str),
) -> Result<Findings, Error> {
    let path = plan.join(folder).join(record::NAME);
    let place = Place::file(format!("{folder}/{}", record::NAME));
    if !path.exists() {
        return Ok(without_record(plan, place).into());
    }
    let text = read::text_of(&path)?;
    let record = RunRecord::read(text.as_bytes());
    let record = record.map_err(|why| Finding::fault(place.clone(), why).mend(WHICH))?;
    if record.command != "thin" {
        let what = format!("this is the record of `{}`, not of `thin`", record.command);
        return Ok(Finding::warning(place, what).mend(WHICH).into());
    }
    let differing: Findings = differences(call, inputs, &record)
        .map(|what| Finding::warning(place.clone(), what).because(ANEW).mend(MEND))
        .collect();
    if !differing.is_empty() {
        return Ok(differing);
    }
    let same = "the crew worked by the plan of the same files and options";
    Ok(Finding::note(place, same).into())
}

const WHICH: &str = "pass the --out folder of `thin` with --plan";
const ANEW: &str = "the recount is held against the plan that these inputs make";
const MEND: &str = "pass what `thin` was given, or mind that the crew had other numbers";

fn without_record(plan: &Path, place: Place) -> Finding {
    let what = format!("{} holds no plan of this block", plan.display());
    Finding::warning(place, what).mend(WHICH)
}

/// How what is read and asked differs from what a plan was made of, in words.
fn differences(
    call: &Call,
    inputs: &Inputs,
    record: &RunRecord,
) -> impl Iterator<Item = String> + use<> {
    let now = inputs_of_the_plan(call, inputs);
    let files = of_files(&record.inputs, &now);
    let options = of_options(&record.options, &record::options(call));
    let version = (record.version != env!("CARGO_PKG_VERSION")).then(|| {
        format!("the plan the crew worked by was made by catchwire {}, another one", record.version)
    });
    files.into_iter().chain(options).chain(version)
}

/// The files that a plan is made of now: all but those of the recount.
fn inputs_of_the_plan(call: &Call, inputs: &Inputs) -> Vec<FileRecord> {
    let all = record::inputs(call, inputs);
    let before = |at: &usize| !inputs.after.contains(at);
    all.into_iter().enumerate().filter(|(at, _)| before(at)).map(|(_, file)| file).collect()
}

/// A file of the same bytes is the same under any name.
fn of_files(then: &[FileRecord], now: &[FileRecord]) -> Vec<String> {
    let name = |file: &FileRecord| file_name(&file.file);
    let same =
        |files: &[FileRecord], one: &FileRecord| files.iter().any(|f| f.sha256 == one.sha256);
    let named = |files: &[FileRecord], one: &FileRecord| files.iter().any(|f| name(f) == name(one));
    let gone = then.iter().filter(|file| !same(now, file)).map(|file| {
        let what = if named(now, file) { "with other content" } else { "which is not passed here" };
        format!("the plan the crew worked by was made from {}, {what}", name(file))
    });
    let new = now.iter().filter(|file| !same(then, file) && !named(then, file));
    let new =
        new.map(|file| format!("the plan the crew worked by was made without {}", name(file)));
    gone.chain(new).collect()
}

fn of_options(then: &[OptionGiven], now: &[OptionGiven]) -> Vec<String> {
    let shaping = |given: &&OptionGiven| !BESIDE.contains(&given.option.as_str());
    let with = |given: &OptionGiven, word: &str| {
        format!("the plan the crew worked by was made {word} {} {}", given.option, given.value)
    };
    let gone = then.iter().filter(shaping).filter(|given| !now.contains(given));
    let new = now.iter().filter(shaping).filter(|given| !then.contains(given));
    let changed = |given: &OptionGiven| then.iter().any(|own| own.option == given.option);
    gone.map(|given| with(given, "with"))
        .chain(new.filter(|given| !changed(given)).map(|given| with(given, "without")))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(then: &[(&str, &str)], now: &[(&str, &str)], expected: &[&str]) {
        let file = |(name, text): &(&str, &str)| FileRecord::of(name, text.as_bytes());
        let records = |files: &[(&str, &str)]| files.iter().map(file).collect::<Vec<_>>();
        let said = of_files(&records(then), &records(now));
        let said: Vec<&str> = said
            .iter()
            .map(|words| words.trim_start_matches("the plan the crew worked by was made "))
            .collect();
        assert_eq!(said, expected);
    }

    #[test]
    fn files_differ_by_content_and_not_by_name() {
        check(&[("a.csv", "1")], &[("b.csv", "1")], &[]);
        check(&[("a.csv", "1")], &[("a.csv", "2")], &["from a.csv, with other content"]);
        check(&[("a.csv", "1")], &[], &["from a.csv, which is not passed here"]);
        check(&[], &[("x/a.csv", "1")], &["without a.csv"]);
    }

    #[test]
    fn options_that_shape_the_plan_are_compared() {
        let given =
            |option: &str, value: &str| OptionGiven { option: option.into(), value: value.into() };
        let then = [given("--frost", "2026-05-20"), given("--crew", "4")];
        let now = [given("--pool", "true"), given("--paper", "a3")];
        let said = of_options(&then, &now);
        assert_eq!(said.len(), 2, "{said:?}");
        assert!(said[0].ends_with("made with --frost 2026-05-20"), "{said:?}");
        assert!(said[1].ends_with("made without --pool true"), "{said:?}");
        let other = of_options(&then, &[given("--frost", "2026-05-21")]);
        assert_eq!(other, said[..1]);
    }
}
