//! Counts in journals of the count sheet.

use std::{
    fs,
    path::{Path, PathBuf},
    process::Command,
};

use catchwire::{
    counts::Count,
    error::Error,
    finding::{Findings, Place},
    read::{Inputs, Request},
};
use serde_json::{Value, json};

use super::{joined, thin};
use crate::support::{catchwire, folder, plain_block::block, put, skipped};

/// A block with its sheet on a phone.
struct Field {
    folder: tempfile::TempDir,
    block: PathBuf,
    /// What the page is told.
    data: Value,
}

impl Field {
    fn new(name: &str, options: &[&str]) -> Self {
        let folder = folder();
        let block = put(folder.path(), "block.geojson", &block(name, [50.0, 40.0], false));
        let out = folder.path().join("sheet");
        let asked = ["--write", "count-sheet.html", "--quiet"].iter().chain(options);
        let files = ["sample".into(), block.clone(), "--out".into(), out.clone()];
        catchwire(files.into_iter().chain(asked.map(PathBuf::from))).done();
        let of_block = fs::read_dir(&out).expect("the output").flatten().next().expect("a folder");
        let page = fs::read_to_string(of_block.path().join("count-sheet.html")).expect("a sheet");
        let (_, rest) = page.split_once("id=\"data\">").expect("data");
        let data = rest.split_once("</script>").expect("its end").0;
        let data = serde_json::from_str(data).expect("JSON");
        Self { folder, block, data }
    }

    /// Twelve single vines of block North.
    fn north() -> Self {
        Self::new("North", &["--number", "12", "--by", "vine"])
    }

    /// A journal of entries, as the page writes it.
    fn journal(&self, entries: &[Value]) -> String {
        let data = &self.data;
        let places: Vec<&Value> =
            data["places"].as_array().expect("places").iter().map(|one| &one["cells"]).collect();
        json!({
            "kind": "counts journal", "format": 1, "plan": data["plan"], "block": data["block"],
            "device": entries[0]["device"], "units": data["units"], "common": data["common"],
            "columns": data["columns"], "places": places, "entries": entries,
        })
        .to_string()
    }

    fn put(&self, name: &str, text: &str) -> PathBuf {
        put(self.folder.path(), name, text)
    }

    fn read(&self, counts: &[PathBuf]) -> Result<(Vec<Count>, Findings), Error> {
        let request =
            Request { blocks: self.block.clone(), counts: counts.to_vec(), ..Request::default() };
        Inputs::read(&request).map(|(inputs, findings)| (inputs.counts, findings))
    }

    /// What is read, without where it stands.
    #[track_caller]
    fn counts(&self, counts: &[PathBuf]) -> Vec<Count> {
        let (counts, _) = self.read(counts).unwrap_or_else(|error| panic!("{error}"));
        counts.into_iter().map(|count| Count { place: Place::default(), ..count }).collect()
    }

    fn thin(&self, counts: &[&Path], options: &[&str]) -> crate::support::Run {
        thin(self.folder.path(), counts, options)
    }
}

fn counted(device: &str, seq: usize, place: usize, shoots: usize) -> Value {
    json!({ "device": device, "seq": seq, "at": "2026-05-25T09:00:00.000+02:00", "who": "Ada",
        "place": place.to_string(), "values": { "shoots": shoots.to_string() } })
}

const ONE: &str = "0000aaaa";
const OTHER: &str = "c0ffee00";

fn told(findings: &Findings) -> String {
    findings.iter().map(|finding| finding.to_string() + "\n").collect()
}

/// Random journals of three phones, put together by the page's own functions.
#[test]
fn journals_come_to_what_the_page_makes_of_them() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    if !Command::new("node").arg("--version").output().is_ok_and(|run| run.status.success()) {
        skipped("no node: scripts/setup-judges.sh installs it");
        return;
    }
    let rounds = 40;
    let windows: &[&str] = &["--number", "9", "--by", "vine", "--window", "1ft", "--units", "us"];
    for field in [Field::north(), Field::new("North", windows)] {
        let data = field.put("data.json", &field.data.to_string());
        let out = field.folder.path();
        let run = Command::new("node")
            .args([&root.join("tests/judges/journals.mjs"), &data])
            .args([&root.join("src/write/count_sheet"), out])
            .arg(rounds.to_string())
            .output()
            .expect("node runs");
        assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
        let mut records = 0;
        for round in 0..rounds {
            let [one, two, three, table] = ["-0.json", "-1.json", "-2.json", ".csv"]
                .map(|end| out.join(format!("{round}{end}")));
            let wanted = field.counts(&[table]);
            records += wanted.len();
            let orders = [[&one, &two, &three, &one], [&three, &two, &one, &two]];
            for order in orders.map(|order| order.map(Clone::clone)) {
                let found = field.counts(&order);
                assert_eq!(format!("{found:#?}"), format!("{wanted:#?}"), "round {round}");
            }
        }
        assert!(records > 10 * rounds, "{records} records prove little");
    }
}

#[test]
fn the_same_journal_again_or_an_older_one_changes_nothing() {
    let field = Field::north();
    let entries: Vec<Value> = (1..=9).map(|at| counted(ONE, at, at, 10 + at)).collect();
    let newer = field.put("newer.json", &field.journal(&entries));
    let older = field.put("older.json", &field.journal(&entries[..4]));
    let wanted = field.counts(std::slice::from_ref(&newer));
    assert_eq!(wanted.len(), 9);
    for files in
        [vec![newer.clone(), newer.clone()], vec![older.clone(), newer.clone()], vec![newer, older]]
    {
        let (_, findings) = field.read(&files).expect("journals");
        assert!(findings.is_empty(), "{}", told(&findings));
        assert_eq!(format!("{:?}", field.counts(&files)), format!("{wanted:?}"));
    }
}

#[test]
fn two_values_on_one_vine_are_both_kept_and_told() {
    let field = Field::north();
    let one =
        field.put("one.json", &field.journal(&[counted(ONE, 1, 7, 11), counted(ONE, 2, 8, 12)]));
    let other = field.put("other.json", &field.journal(&[counted(OTHER, 1, 7, 15)]));
    let table = field.put("table.csv", "row,vine,date,shoots\n1,1,2026-05-25,9\n");
    let run = field.thin(&[&one, &other, &table], &[]).done();
    let said = run.stdout + &run.stderr;
    assert!(said.contains("2 different counts of one visit and window: 11, 15"), "{said}");
    assert_eq!(joined(field.folder.path()).len(), 4);
    field.thin(&[&one, &other, &table], &["--strict"]).refused(3, &["11, 15"]);
}

#[test]
fn a_journal_of_another_block_or_plan_is_refused() {
    let field = Field::north();
    let south = Field::new("South", &["--number", "12", "--by", "vine"]);
    let strange = field.put("south.json", &south.journal(&[counted(ONE, 1, 7, 11)]));
    let plan = south.data["plan"].as_str().expect("a plan")[..8].to_owned();
    field.thin(&[&strange], &[]).refused(3, &["south.json", "`South`", &plan, "`North`"]);
    let replaced = Field::new("North", &["--number", "11", "--by", "vine"]);
    let newer = field.put("newer.json", &field.journal(&[counted(ONE, 1, 7, 11)]));
    let older = field.put("older.json", &replaced.journal(&[counted(ONE, 1, 7, 11)]));
    let [new, old] =
        [&field, &replaced].map(|one| one.data["plan"].as_str().expect("a plan")[..8].to_owned());
    let said: [&str; 5] = ["2 plans of block `north`", "newer.json", "older.json", &new, &old];
    field.thin(&[&newer, &older], &[]).refused(3, &said);
    let run = field.thin(&[&newer, &older], &["--several-plans"]).done();
    for words in said {
        assert!(run.stderr.contains(words), "{}", run.stderr);
    }
    let table = field.put(&format!("counts_north_{old}_0000_4.csv"), "row,vine,shoots\n2,3,9\n");
    field.thin(&[&newer, &table], &[]).refused(3, &["2 plans", "_0000_4.csv", &new, &old]);
    field.thin(&[&newer], &[]).done();
}

/// How many of the entries end before a byte of the journal.
fn whole(journal: &str, entries: &[Value], cut: usize) -> usize {
    let ends = entries.iter().map(|entry| {
        let text = entry.to_string();
        journal.find(&text).expect("the entry") + text.len()
    });
    ends.filter(|&end| end <= cut).count()
}

#[test]
fn a_journal_cut_anywhere_gives_all_whole_entries_and_names_the_cut_one() {
    let field = Field::north();
    let mut entries: Vec<Value> = (1..=6).map(|at| counted(ONE, at, at, 10 + at)).collect();
    entries[2]["values"]["note"] = "}, {\"é\\".into();
    let journal = field.journal(&entries);
    let start = journal.find("\"entries\"").expect("the entries");
    let cuts = (0..start).step_by(97).chain(start..journal.len());
    for cut in cuts {
        let path = field.folder.path().join("cut.json");
        #[expect(clippy::disallowed_methods, reason = "a test's own input")]
        fs::write(&path, &journal.as_bytes()[..cut]).expect("a written file");
        let whole = whole(&journal, &entries, cut);
        match field.read(&[path]) {
            Ok((counts, findings)) => {
                assert_eq!(counts.len(), whole, "cut at {cut}");
                let said = told(&findings);
                let named =
                    format!("entry {}", if said.contains("after") { whole } else { whole + 1 });
                assert!(said.contains("cut off") && said.contains(&named), "{cut}: {said}");
            }
            Err(error) => {
                assert_eq!((error.exit_code(), whole), (3, 0), "cut at {cut}: {error}");
            }
        }
    }
}

#[test]
fn what_the_page_never_writes_is_refused_by_its_number() {
    let field = Field::north();
    let sound = counted(ONE, 1, 1, 11);
    let with = |key: &str, value: Value| {
        let mut entry = sound.clone();
        entry[key] = value;
        entry
    };
    let cases = [
        (with("device", "ABC".into()), "`device`"),
        (with("seq", 0.into()), "`seq`"),
        (with("at", "yesterday".into()), "`at`"),
        (with("who", "x".repeat(501).into()), "`who`"),
        (with("place", "99".into()), "`place`"),
        (with("values", json!({ "shoots": "-3" })), "`shoots`"),
        (with("values", json!({ "skip": "lazy" })), "`skip`"),
        (with("undoes", "1".into()), "`undoes`"),
        (json!(7), "no object"),
    ];
    for (entry, said) in cases {
        let path = field.put("journal.json", &field.journal(&[sound.clone(), entry]));
        let error = field.read(&[path]).expect_err(said).to_string();
        assert!(error.contains("entry 2") && error.contains(said), "{error}");
    }
    let one = field.put("one.json", &field.journal(std::slice::from_ref(&sound)));
    let changed = field.put("changed.json", &field.journal(&[counted(ONE, 1, 1, 19)]));
    let (counts, findings) = field.read(&[one, changed]).expect("journals");
    assert_eq!(counts[0].shoots.expect("shoots").all, 11);
    let said = told(&findings);
    assert!(
        said.contains("changed.json, entry 0000aaaa-1: differs from that of one.json"),
        "{said}"
    );
    let bare = json!({ "kind": "counts journal", "format": 1, "plan": "x", "block": "North", "entries": [sound] });
    let bare = field.put("bare.json", &bare.to_string());
    let error = field.read(&[bare]).expect_err("no places").to_string();
    assert!(error.contains("does not bring the places"), "{error}");
}
