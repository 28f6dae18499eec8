//! What is typed and cannot be meant: the message says what, why, and what to write.

use crate::support::{catchwire, folder, plain_block::block, put};

/// Options with a value that is none, and what must be said.
const NONSENSE: [(&str, &str, &[&str]); 13] = [
    ("--crew", "0", &["'0'", "1 to 500", "--crew 4"]),
    ("--crew", "-3", &["'-3'", "whole number of people"]),
    ("--crew", "3.5", &["'3.5'", "whole number of people"]),
    ("--crew", "many", &["'many'", "--crew 4"]),
    ("--hours-per-day", "25", &["'25'", "at most 24 hours", "--hours-per-day 7.5"]),
    ("--hours-per-day", "-8", &["'-8'", "more than 0"]),
    ("--hours-per-day", "NaN", &["'NaN'", "--hours-per-day 7.5"]),
    ("--date", "01/06/2026", &["--date", "may be 2026-06-01 or 2026-01-06", "year-month-day"]),
    ("--date", "tomorrow", &["`tomorrow` is no date", "2026-05-01"]),
    ("--date", "2026-02-30", &["no day of the calendar", "year-month-day"]),
    ("--last-frost", "46174", &["--last-frost", "number of days", "write 2026-06-01"]),
    ("--frost", "5-12", &["--frost", "`5-12` is no date"]),
    ("--frost", "", &["--frost", "is no date", "year-month-day"]),
];

#[test]
fn nonsense_is_refused_with_a_form_and_an_example() {
    for (option, value, said) in NONSENSE {
        let run = catchwire(["check", "none.geojson", option, value]);
        let run = run.refused(2, said);
        assert!(run.stdout.is_empty(), "{option} {value}: {}", run.stdout);
    }
}

#[test]
fn a_day_may_be_typed_as_in_a_table() {
    let folder = folder();
    let block = put(folder.path(), "block.geojson", &block("North", [50.0, 40.0], false));
    let counts = put(folder.path(), "counts.csv", "row,vine,date,shoots\n1,1,2026-05-25,9\n");
    let report = |date: &str| {
        let words = ["check".into(), block.clone(), "--counts".into(), counts.clone()];
        let more = ["--date", date, "--json"].map(std::path::PathBuf::from);
        catchwire(words.iter().chain(&more)).done().stdout
    };
    assert_eq!(report("1 June 2026"), report("2026-06-01"));
}

#[test]
fn an_option_of_another_command_is_named_with_it() {
    for (words, said) in [
        (
            ["check", "--bud-rule"],
            &["`--bud-rule`", "`check` has no such option", "belongs to prune"][..],
        ),
        (["thin", "--recount"], &["`--recount`", "belongs to audit"]),
        (["thin", "--bud-rul"], &["did you mean --bud-rule, an option of `prune`"]),
        (["thin", "--cruw"], &["--crew"]),
    ] {
        let [command, option] = words;
        catchwire([command, "block.geojson", option, "x"]).refused(2, said);
    }
}

#[test]
fn a_column_or_key_of_another_file_is_named_with_it() {
    let folder = folder();
    let plain = block("North", [50.0, 40.0], false);
    let with_shoots = plain.replacen("\"name\"", "\"shoot_length_cm\": 12, \"name\"", 1);
    let block = put(folder.path(), "block.geojson", &with_shoots);
    let table = "row,vine,shoots,row_spacing,vines\n1,1,9,2.4,30\n";
    let counts = put(folder.path(), "counts.csv", table);
    let run = catchwire(["check".into(), block, "--counts".into(), counts].iter()).done();
    for words in [
        "`row_spacing`: an unknown column is not used; it is a key of a block",
        "pass --row-spacing",
        "`vines`: an unknown column is not used; it is a column of a list of rows",
        "`shoot_length_cm`: an unknown key is not used; it is a column of counts",
    ] {
        assert!(run.stderr.contains(words), "`{words}` is not in\n{}", run.stderr);
    }
}
