//! Guide, README and sample files against what the program does.

use std::{
    collections::BTreeSet,
    fs,
    path::{Path, PathBuf},
};

use crate::support::{catchwire, files, folder, put};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

#[track_caller]
fn read(name: &str) -> String {
    fs::read_to_string(root().join(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
}

/// Texts between backticks and lines of shell blocks that start with `program`.
fn commands(document: &str, program: &str) -> Vec<String> {
    let lines = document.lines().flat_map(|line| line.split('`')).map(str::trim);
    let shown = lines.filter(|text| text.split_whitespace().next() == Some(program));
    shown.map(str::to_owned).collect()
}

/// The lines between the first fence of this language and its end, its indent taken off.
#[track_caller]
fn snippet(document: &str, language: &str) -> String {
    let fence = format!("```{language}");
    let mut lines = document.lines().skip_while(|line| line.trim() != fence);
    assert!(lines.next().is_some(), "no {fence}");
    let inside = lines.take_while(|line| line.trim() != "```");
    let inside: Vec<&str> = inside.map(str::trim).collect();
    inside.join("\n") + "\n"
}

#[test]
fn make_targets_in_the_documents_exist() {
    let makefile = read("Makefile");
    let mut seen = 0;
    for name in ["README.md", "DEVELOPERS.md", "docs/guide.md"] {
        for command in commands(&read(name), "make") {
            let target = command.split_whitespace().nth(1).unwrap_or_default();
            let rule = format!("\n{target}:");
            assert!(makefile.contains(&rule), "{name}: `make {target}` is no target");
            seen += 1;
        }
    }
    assert!(seen >= 4, "{seen} commands seen");
}

/// A folder with the block and the counts that the README shows, and what else the guide names.
fn an_afternoon(readme: &str, guide: &str) -> tempfile::TempDir {
    let folder = folder();
    let block = snippet(readme, "json");
    put(folder.path(), "block.geojson", &block);
    put(
        folder.path(),
        "field.geojson",
        &block.replace("\"standing\": true", "\"standing\": false"),
    );
    put(folder.path(), "counts.csv", &snippet(guide, "csv"));
    let year_before = snippet(guide, "csv").replace("2026-", "2025-");
    put(folder.path(), "counts-2025.csv", &year_before);
    put(folder.path(), "pruning.csv", "row,vine,pruning_weight_lb\n3,7,2.1\n3,19,1.4\n");
    put(folder.path(), "recount.csv", "row,vine,visit,shoots\n3,7,after,22\n5,12,after,25\n");
    put(folder.path(), "rows.csv", "row,vines\n1,30\n2,31\n3,31\n4,31\n5,31\n");
    put(folder.path(), "settings.toml", &catchwire(["settings"]).done().stdout);
    put(folder.path(), "words.toml", &catchwire(["settings", "--words"]).done().stdout);
    folder
}

#[test]
fn every_command_of_the_readme_and_the_guide_runs() {
    let (readme, guide) = (read("README.md"), read("docs/guide.md"));
    let folder = an_afternoon(&readme, &guide);
    let shown = [commands(&readme, "catchwire"), commands(&guide, "catchwire")].concat();
    let shown: Vec<&String> = shown.iter().filter(|command| command.contains(' ')).collect();
    assert!(shown.len() >= 10, "{shown:?}");
    for (at, command) in shown.iter().enumerate() {
        run(command, folder.path(), at);
    }
}

#[test]
fn the_counts_of_the_readme_are_read() {
    let readme = read("README.md");
    let folder = an_afternoon(&readme, &read("docs/guide.md"));
    put(folder.path(), "counts.csv", &snippet(&readme, "csv"));
    let run = run("catchwire check block.geojson --counts counts.csv --json", folder.path(), 0);
    let report: serde_json::Value = serde_json::from_str(&run).expect("a JSON report");
    assert!(report.to_string().contains("First Block"), "{report}");
}

#[test]
fn every_command_of_the_sample_table_runs() {
    let shown = commands(&read("sample-geometries/README.md"), "catchwire");
    let folder = folder();
    let mut ran = 0;
    for (at, command) in shown.iter().enumerate().filter(|(_, command)| !command.contains("DIR")) {
        run(command, folder.path(), at);
        ran += 1;
    }
    assert!(ran >= 11, "{ran} commands ran");
}

/// Runs a command as shown: files that stand in `folder` are taken from there, and each `--out` is
/// a folder of its own below it.
#[track_caller]
fn run(command: &str, folder: &Path, at: usize) -> String {
    let words: Vec<&str> = command.split_whitespace().skip(1).collect();
    let args = words.iter().enumerate().map(|(k, word)| {
        let out = k > 0 && words[k - 1] == "--out";
        let here = folder.join(word);
        match (out, here.is_file()) {
            (true, _) => folder.join(format!("out-{at}")),
            (false, true) => here,
            (false, false) => PathBuf::from(word),
        }
    });
    let run = catchwire(args);
    assert_eq!(run.code, 0, "{command}\n{}", run.stderr);
    run.stdout
}

#[test]
fn every_sample_file_is_sound_and_listed() {
    let samples = root().join("sample-geometries");
    let table = read("sample-geometries/README.md");
    let found = files(&samples);
    for (path, bytes) in &found {
        let name = path.to_string_lossy();
        match path.extension().and_then(|extension| extension.to_str()) {
            Some("geojson") => {
                let json = serde_json::from_slice::<serde_json::Value>(bytes);
                assert_eq!(json.expect("valid JSON")["type"], "FeatureCollection", "{name}");
            }
            Some("csv") => {
                let lines = csv::Reader::from_reader(bytes.as_slice()).into_records();
                let even: Vec<_> = lines.map(|line| line.expect("an even table")).collect();
                assert!(even.len() > 5, "{name}");
            }
            Some("tif") => assert!(bytes.starts_with(b"II*\0"), "{name}"),
            Some("kml" | "gpx") => assert!(bytes.starts_with(b"<?xml"), "{name}"),
            _ => assert_eq!(name, "README.md", "a file that nobody expects"),
        }
        assert!(name == "README.md" || table.contains(&format!("| `{name}` |")), "{name}");
    }
    let listed = table.lines().filter(|line| line.starts_with("| `")).filter_map(first_code);
    let listed: BTreeSet<&str> = listed.filter(|name| name.contains('.')).collect();
    assert!(listed.len() >= 11, "{listed:?}");
    for name in listed {
        assert!(found.contains_key(Path::new(name)), "{name} is listed but not there");
    }
}

/// The first text between backticks of a line.
fn first_code(line: &str) -> Option<&str> {
    line.split('`').nth(1)
}

#[test]
fn the_flow_is_told_with_the_same_words_everywhere() {
    let flow = flow_of_the_import_test();
    assert!(flow.len() >= 16, "{flow:?}");
    assert_eq!(flow_of_the_architecture(), flow, "docs/architecture.md");
    let front = read("src/lib.rs");
    let modules: Vec<&str> =
        front.lines().filter_map(|line| line.strip_prefix("pub mod ")?.strip_suffix(';')).collect();
    let mut left = modules.as_slice();
    for row in &flow {
        let (these, rest) = left.split_at(row.len().min(left.len()));
        let these: BTreeSet<String> = these.iter().map(|&module| module.to_owned()).collect();
        assert_eq!(&these, row, "the order of modules in src/lib.rs");
        left = rest;
    }
    assert!(left.is_empty(), "{left:?} have no row");
}

type Row = BTreeSet<String>;

/// The rows of `FLOW` in `import_direction.rs`, read from its source.
fn flow_of_the_import_test() -> Vec<Row> {
    let source = include_str!("import_direction.rs");
    let rows = source.lines().skip_while(|line| !line.starts_with("const FLOW")).skip(1);
    rows.take_while(|line| *line != "];")
        .map(|line| line.split('"').skip(1).step_by(2).map(str::to_owned).collect())
        .collect()
}

/// The names in the second column of the architecture's first fenced block.
fn flow_of_the_architecture() -> Vec<Row> {
    let document = read("docs/architecture.md");
    let block = document.split("```").nth(1).expect("a fenced block");
    // The second column starts where the first row has its name.
    let first = block.lines().find(|line| line.contains("units")).expect("a first row");
    let column = first.find("units").expect("the column of names");
    let lines = block.lines().filter(|line| line.len() > column);
    lines
        .map(|line| {
            let names = line[column..].split("  ").next().unwrap_or_default();
            names.split(" · ").map(|name| name.trim().to_owned()).collect()
        })
        .collect()
}

#[test]
fn links_in_the_documents_lead_somewhere() {
    let mut followed = 0;
    for (path, text) in documents() {
        let folder = path.parent().expect("a folder");
        for link in text.split("](").skip(1).filter_map(|rest| rest.split(')').next()) {
            if link.contains("://") || link.starts_with('#') {
                continue;
            }
            let target = folder.join(link.split('#').next().unwrap_or(link));
            assert!(target.exists(), "{}: {link} leads nowhere", path.display());
            followed += 1;
        }
    }
    assert!(followed > 10, "{followed} links");
}

#[test]
fn documents_stand_on_their_own() {
    let strangers = ["/root/", "/home/", "todo", "fixme", "chatbot", "simply", "just"];
    for (path, text) in documents() {
        let text = text.to_lowercase();
        let words: BTreeSet<&str> =
            text.split(|c: char| !(c.is_alphanumeric() || c == '/')).collect();
        for stranger in strangers {
            let named =
                words.contains(stranger) || (stranger.contains('/') && text.contains(stranger));
            assert!(!named, "{}: `{stranger}`", path.display());
        }
    }
}

/// Every Markdown file of the project outside build folders.
fn documents() -> Vec<(PathBuf, String)> {
    let folders = ["", "docs", "sample-geometries"];
    let paths = folders.iter().flat_map(|folder| {
        fs::read_dir(root().join(folder))
            .expect("a readable folder")
            .map(|e| e.expect("an entry").path())
    });
    let mut documents: Vec<(PathBuf, String)> = paths
        .filter(|path| path.extension().is_some_and(|extension| extension == "md"))
        .map(|path| (path.clone(), fs::read_to_string(path).expect("readable text")))
        .collect();
    documents.sort();
    assert!(documents.len() >= 10, "only {} documents", documents.len());
    documents
}
