//! `crew-sheet.csv` and `crew-sheet.pdf`: what a crew is handed agrees with the plan, and can be
//! had in another language.

use std::{collections::BTreeSet, fmt::Write as _, fs, path::Path, process::Command};

use crate::support::{
    catchwire, demo, folder, properties, put, records, skipped,
    table::{number, table},
};

/// The words on the pages of a PDF; `None` without the reader.
fn words(path: &Path) -> Option<String> {
    let run = Command::new("pdftotext").arg("-layout").arg(path).arg("-").output().ok()?;
    Some(String::from_utf8(run.stdout).expect("words"))
}

#[test]
fn the_sheet_adds_up_to_the_plan_and_names_every_panel_once() {
    for (folder, _) in records(&demo().join("3-thin")) {
        let lines = table(&folder.join("crew-sheet.csv"));
        let panels = properties(&folder.join("panels.geojson"));
        let standing = panels.iter().filter(|panel| panel["vines"].as_u64() > Some(0));
        let named: BTreeSet<&str> = lines.iter().map(|line| line["panel"].as_str()).collect();
        assert_eq!(named.len(), lines.len(), "no panel is named twice");
        assert_eq!(named.len(), standing.count());
        for zone in properties(&folder.join("zones.geojson")) {
            let own = || lines.iter().filter(|line| line["zone"] == zone["zone"].as_str().unwrap());
            let sum = |column: &str| own().map(|line| number(line, column)).sum::<f64>();
            let wanted = |key: &str| zone[key].as_f64().unwrap();
            assert!((sum("remove") - wanted("remove")).abs() < 0.01, "{}", zone["zone"]);
            assert!((sum("minutes") - 60.0 * wanted("hours")).abs() < 0.5, "{}", zone["zone"]);
            assert!((sum("vines") - wanted("vines")).abs() < 1e-9);
            let worked = zone["order"].is_u64();
            assert!(own().all(|line| line["order"].is_empty() != worked));
            assert!(own().all(|line| line["leave_per_m"].is_empty() != worked));
        }
    }
}

#[test]
fn zones_come_in_their_order_and_rows_are_walked_there_and_back() {
    let lines = table(&demo().join("3-thin/tarn-field/crew-sheet.csv"));
    let orders: Vec<f64> =
        lines.iter().filter(|line| !line["order"].is_empty()).map(|l| number(l, "order")).collect();
    assert!(orders.windows(2).all(|pair| pair[0] <= pair[1]) && orders.contains(&2.0));
    // Within a zone the rows rise, and every other one is walked from its far end.
    let first: Vec<_> = lines.iter().filter(|line| line["order"] == "1").collect();
    let rows: Vec<_> = first.chunk_by(|a, b| a["row"] == b["row"]).collect();
    assert!(rows.len() > 5);
    assert!(rows.windows(2).all(|pair| number(pair[0][0], "row") < number(pair[1][0], "row")));
    for (at, row) in rows.iter().enumerate() {
        let places: Vec<f64> = row
            .iter()
            .flat_map(|line| [number(line, "from_vine"), number(line, "to_vine")])
            .collect();
        let forth = places.windows(2).all(|pair| pair[0] <= pair[1]);
        let back = places.windows(2).all(|pair| pair[0] >= pair[1]);
        assert!(if at % 2 == 0 { forth } else { back }, "row {}: {places:?}", row[0]["row"]);
    }
}

#[test]
fn a_vine_has_a_number_of_its_own_only_where_it_was_counted_alone() {
    for (folder, _) in records(&demo().join("3-thin")) {
        let joined = table(&folder.join("counts-joined.csv"));
        let counted: BTreeSet<(String, String)> = (joined.iter())
            .filter(|line| !line["vine"].is_empty() && !line["shoots_per_m"].is_empty())
            .map(|line| (line["row"].clone(), line["vine"].clone()))
            .collect();
        let mut seen = 0;
        for line in table(&folder.join("crew-sheet.csv")) {
            for vine in line["counted_vines"].split("; ").filter(|vine| !vine.is_empty()) {
                let (vine, _) = vine.split_once(": ").expect("vine: shoots");
                assert!(counted.contains(&(line["row"].clone(), vine.to_owned())), "{line:?}");
                seen += 1;
            }
        }
        assert!(seen > 0, "{}", folder.display());
    }
}

#[test]
fn paper_says_what_to_leave_first_and_what_to_mind() {
    let path = demo().join("3-thin/south-brae/crew-sheet.pdf");
    let Some(words) = words(&path) else {
        return skipped("pdftotext is not here: no crew sheet read");
    };
    let at = |what: &str| words.find(what).unwrap_or_else(|| panic!("`{what}` is not in {words}"));
    assert!(at("Leave first") < at("Then take off") && at("Then take off") < at("row 1 "));
    for said in ["Doubles", "Heat", "posted time", "Shears", "Local rules", "page 1 of", "cm"] {
        at(said);
    }
    assert!(!words.to_lowercase().contains("safe"));
    // The last page has no letter on it but the numbers of the page.
    let pages: Vec<&str> = words.split('\u{c}').collect();
    let last = pages.iter().rev().find(|page| !page.trim().is_empty()).unwrap();
    assert!(last.chars().all(|letter| !letter.is_alphabetic()), "{last}");
}

/// The rows that a page lists, with what comes off them.
fn rows(page: &str) -> Vec<u32> {
    let listed =
        page.lines().filter_map(|line| line.split_once("row ").filter(|_| line.contains(" off")));
    listed.filter_map(|(_, rest)| rest.split_whitespace().next()?.parse().ok()).collect()
}

#[test]
fn a_page_is_all_that_a_crew_needs_and_every_row_stands_on_one() {
    for (folder, _) in records(&demo().join("3-thin")) {
        let Some(words) = words(&folder.join("crew-sheet.pdf")) else {
            return skipped("pdftotext is not here: no crew sheet read");
        };
        let pages: Vec<&str> = words.split('\u{c}').filter(|page| page.contains(" off")).collect();
        for page in &pages {
            for said in
                ["Leave first", "one every", "True to size", "Then take off", "Heat", "here"]
            {
                assert!(page.contains(said), "{}: no `{said}` in {page}", folder.display());
            }
        }
        let lines = table(&folder.join("crew-sheet.csv"));
        let worked = lines.iter().filter(|line| !line["order"].is_empty());
        let wanted: BTreeSet<(u32, &str)> = worked
            .map(|line| (line["row"].parse().expect("a number"), line["zone"].as_str()))
            .collect();
        let mut wanted: Vec<u32> = wanted.into_iter().map(|(row, _)| row).collect();
        let mut found: Vec<u32> = pages.iter().flat_map(|page| rows(page)).collect();
        wanted.sort_unstable();
        found.sort_unstable();
        assert_eq!(found, wanted, "{}", folder.display());
        assert!(pages.len() > 1, "the estate has zones that are shared out");
    }
}

/// The estate's blocks with some options.
fn thin(out: &Path, options: &[&str]) -> crate::support::Run {
    let estate = demo().join("estate");
    let [blocks, counts] = ["blocks.geojson", "counts.csv"].map(|name| estate.join(name));
    let typed = ["thin", blocks.to_str().unwrap(), "--counts", counts.to_str().unwrap()];
    let asked = ["--write", "crew-sheet.csv,crew-sheet.pdf", "--out", out.to_str().unwrap()];
    catchwire(typed.into_iter().chain(asked).chain(options.iter().copied()))
}

#[test]
fn one_file_turns_the_sheet_into_another_language() {
    let folder = folder();
    let own = catchwire(["settings", "--words"]).done().stdout;
    let norse = own
        .replace("\"Leave first\"", "\"La stå først\"")
        .replace("\"row {row}\"", "\"rad {row}\"")
        .replace("\"{shoots} shoots a metre\"", "\"{shoots} skudd per meter\"");
    put(folder.path(), "words.toml", &norse);
    let lang = folder.path().join("words.toml");
    let out = folder.path().join("out");
    let run = thin(&out, &["--lang", lang.to_str().unwrap()]).done();
    assert!(!run.stderr.contains("words.toml"), "{}", run.stderr);
    let Some(words) = words(&out.join("south-brae/crew-sheet.pdf")) else {
        return skipped("pdftotext is not here: no crew sheet read");
    };
    assert!(
        words.contains("La stå først") && words.contains("rad 1") && words.contains("skudd per")
    );
    assert!(!words.contains("Leave first") && !words.contains("row 1 "));
}

#[test]
fn a_faulty_words_file_is_refused_and_what_it_leaves_out_is_told() {
    let folder = folder();
    let out = folder.path().join("out");
    put(folder.path(), "few.toml", "leave = \"La stå\"\n");
    let few = folder.path().join("few.toml");
    let run = thin(&out, &["--lang", few.to_str().unwrap()]).done();
    assert!(
        run.stderr.contains("few.toml") && run.stderr.contains("stay English"),
        "{}",
        run.stderr
    );
    put(folder.path(), "far.toml", "leave = \"留下\"\n");
    let far = folder.path().join("far.toml");
    thin(&folder.path().join("far"), &["--lang", far.to_str().unwrap()])
        .refused(3, &["far.toml", "leave", "留", "Latin"]);
    put(folder.path(), "wrong.toml", "row = \"rad\"\nheading = \"x\"\n");
    let wrong = folder.path().join("wrong.toml");
    thin(&folder.path().join("other"), &["--lang", wrong.to_str().unwrap()])
        .refused(3, &["wrong.toml", "{row}", "heading", "settings --words"]);
}

#[test]
fn after_a_frost_the_sheet_holds_no_number() {
    let folder = folder();
    let out = folder.path().join("out");
    thin(&out, &["--frost", "2026-06-11"]).done();
    for line in table(&out.join("south-brae/crew-sheet.csv")) {
        assert!(line["order"].is_empty() && number(&line, "remove") == 0.0, "{line:?}");
    }
    if let Some(words) = words(&out.join("south-brae/crew-sheet.pdf")) {
        for said in ["Nothing comes off by number", "frost", "page 1 of 1"] {
            assert!(words.contains(said), "{said}: {words}");
        }
        assert!(!words.contains("doubles and base"), "{words}");
    }
}

/// The counts after a frost: every shoot told apart.
const RECOUNTED: &str = "2026-06-12";

#[test]
fn once_recounted_after_a_frost_doubles_stay() {
    let folder = folder();
    let estate = demo().join("estate");
    let counts = fs::read_to_string(estate.join("counts.csv")).expect("counts");
    let mut lines = counts.lines();
    let heads: Vec<&str> = lines.next().expect("heads").split(',').collect();
    let at = |name: &str| heads.iter().position(|head| *head == name).expect("a column");
    let mut recount = "block,id,date,primary,secondary\n".to_owned();
    for line in lines {
        let cells: Vec<&str> = line.split(',').collect();
        let shoots = cells[at("shoots")].parse::<u32>().unwrap_or_default();
        if cells[at("block")] == "South Brae" && !cells[at("id")].is_empty() && shoots > 0 {
            let id = cells[at("id")];
            let _ = writeln!(recount, "South Brae,{id},{RECOUNTED},{},{}", shoots - 1, 1);
        }
    }
    put(folder.path(), "recount.csv", &recount);
    let out = folder.path().join("out");
    let [blocks, counts] = [estate.join("blocks.geojson"), folder.path().join("recount.csv")];
    let run = catchwire([
        "thin",
        blocks.to_str().unwrap(),
        "--counts",
        counts.to_str().unwrap(),
        "--frost",
        "2026-06-11",
        "--write",
        "crew-sheet.csv,crew-sheet.pdf,zones.geojson",
        "--out",
        out.to_str().unwrap(),
    ]);
    run.done();
    let lines = table(&out.join("south-brae/crew-sheet.csv"));
    assert!(lines.iter().any(|line| line["order"] == "1"), "nothing is worked");
    for zone in properties(&out.join("south-brae/zones.geojson")) {
        let said = zone["advice"].to_string();
        assert!(!said.contains("doubles first") && !said.contains("take off doubles"), "{said}");
    }
    let Some(words) = words(&out.join("south-brae/crew-sheet.pdf")) else {
        return skipped("pdftotext is not here: no crew sheet read");
    };
    assert!(words.contains("Doubles stay") && !words.contains("doubles and base"), "{words}");
    assert!(!words.contains("the stronger stays"), "{words}");
}

#[test]
fn those_who_read_feet_have_letter_paper_and_feet() {
    let folder = folder();
    let out = folder.path().join("out");
    thin(&out, &["--units", "us", "--crew", "4"]).done();
    let lines = table(&out.join("south-brae/crew-sheet.csv"));
    let worked = lines.iter().find(|line| line["order"] == "1").expect("work");
    let (metre, foot) = (number(worked, "leave_per_m"), number(worked, "leave_per_ft"));
    assert!((metre * 0.3048 - foot).abs() < 1e-4);
    let Some(words) = words(&out.join("south-brae/crew-sheet.pdf")) else {
        return skipped("pdftotext is not here: no crew sheet read");
    };
    for said in ["shoots a foot", " in", "Crew of 4"] {
        assert!(words.contains(said), "{words}");
    }
    let about = Command::new("pdfinfo").arg(out.join("south-brae/crew-sheet.pdf")).output();
    let about = String::from_utf8(about.expect("it comes with pdftotext").stdout).unwrap();
    assert!(about.contains("612 x 792 pts (letter)"), "{about}");
}
