//! `prune`: what a grower sees in winter, and its files against each other.

use std::{collections::BTreeMap, fmt::Write as _, path::Path};

use serde_json::Value;

use crate::support::{
    Run, catchwire, demo, files, folder, json, plain_block, properties, put,
    table::{number, table},
};

/// The pound is 0.453 592 37 kg, the foot 0.3048 m.
const KG_PER_LB: f64 = 0.453_592_37;

const BLOCKS: [&str; 3] = ["south-brae", "tarn-field", "long-rigg"];

#[test]
fn the_classes_of_the_table_are_those_of_the_vines() {
    for block in BLOCKS {
        let folder = demo().join("5-prune").join(block);
        let mut sums: BTreeMap<(String, String), f64> = BTreeMap::new();
        for vine in properties(&folder.join("vines.geojson")) {
            if let (Some(cultivar), Some(size)) =
                (vine["cultivar"].as_str(), vine["vine_size"].as_str())
            {
                *sums.entry((cultivar.to_owned(), size.to_owned())).or_default() += 1.0;
            }
        }
        let lines = table(&folder.join("pruning.csv"));
        assert_eq!(lines.len(), sums.len(), "{block}");
        for line in lines {
            let class = (line["cultivar"].clone(), line["vine_size"].clone());
            assert!((number(&line, "vines") - sums[&class]).abs() < 0.5, "{block}: {class:?}");
            let [low, mean, high] =
                ["_lo90", "", "_hi90"].map(|end| number(&line, &format!("pruning_kg_per_m{end}")));
            assert!(low < mean && mean < high, "{line:?}");
        }
    }
}

#[test]
fn nodes_follow_formula_rule_and_cap_on_every_weighed_vine() {
    for block in BLOCKS {
        let folder = demo().join("5-prune").join(block);
        let on_map: BTreeMap<String, Value> = properties(&folder.join("vines.geojson"))
            .into_iter()
            .map(|vine| (vine["id"].as_str().expect("an id").to_owned(), vine))
            .collect();
        let weighed = table(&folder.join("pruning-vines.csv"));
        assert_eq!(weighed.len(), 36, "{block}");
        for line in &weighed {
            let kg = number(line, "pruning_weight_kg");
            // The estate's hybrids, 20+10: 20 for the first pound, 10 for each more; 10 to 50.
            let exact = 20.0 + 10.0 * (kg / KG_PER_LB - 1.0).max(0.0);
            let by_formula = (exact + 0.5).floor().min(50.0);
            assert!((number(line, "nodes_by_formula") - by_formula).abs() < 0.5, "{line:?}");
            let nodes = number(line, "nodes");
            assert!(nodes >= by_formula && nodes <= 50.0, "{line:?}");
            let vine = &on_map[&line["id"]];
            assert_eq!(vine["nodes"].as_f64(), Some(nodes), "{line:?}");
            assert_eq!(vine["pruning_weight_kg"].as_f64(), Some(kg), "{line:?}");
            if !line["yield_kg"].is_empty() {
                let load = number(line, "yield_kg") / kg;
                assert!((number(line, "crop_load") - load).abs() < 6e-4, "{line:?}");
            }
        }
        let with_nodes = on_map.values().filter(|vine| !vine["nodes"].is_null()).count();
        assert_eq!(with_nodes, weighed.len(), "only weighed vines have nodes of their own");
    }
}

#[test]
fn the_cold_block_keeps_as_many_more_as_its_buds_died() {
    let folder = demo().join("5-prune/tarn-field");
    let report = json(&folder.join("pruning.json"));
    let planting = &report["plantings"][0];
    let count = |key: &str| planting["buds"][key].as_f64().expect("a number");
    let share = count("dead") / count("buds");
    assert!((0.2..0.8).contains(&share), "{share}: the estate has a cold block");
    for class in report["classes"].as_array().expect("classes") {
        let nodes = |key: &str| class[key].as_f64().expect("nodes");
        // Cornell: as many more, in percent, as died; parts of a node up.
        let kept = (nodes("nodes_by_formula") * (1.0 + share) - 1e-9).ceil();
        assert!((nodes("nodes") - kept.min(50.0)).abs() < 0.5, "{class}");
        assert_eq!(class["nodes_by_rule"].as_array().expect("rules").len(), 4);
        assert!(nodes("leave") <= nodes("nodes"));
    }
    let used = planting["rules"].as_array().expect("rules");
    let used: Vec<&Value> = used.iter().filter(|rule| rule["used"] == true).collect();
    assert_eq!((used.len(), used[0]["rule"].as_str()), (1, Some("cornell")));
    let record = json(&folder.join("run.json"));
    assert_eq!((&record["command"], &record["counts"]["used"]), (&"prune".into(), &36.into()));
}

/// A folder with a plain block of hybrids, 10 rows of 40 vines or so, and a sheet.
fn field(sheet: &str, change: impl Fn(String) -> String) -> tempfile::TempDir {
    let folder = folder();
    put(
        folder.path(),
        "block.geojson",
        &change(plain_block::block("Solaris", [25.0, 40.0], false)),
    );
    put(folder.path(), "pruning.csv", sheet);
    folder
}

/// Runs `prune` in such a folder; with `out` as the folder for the results.
fn prune(field: &Path, options: &[&str]) -> Run {
    let path = |name: &str| field.join(name).to_str().expect("a plain path").to_owned();
    let mut words = vec!["prune".to_owned(), path("block.geojson")];
    words.extend(["--counts".to_owned(), path("pruning.csv"), "--out".to_owned(), path("out")]);
    words.extend(options.iter().map(|&word| word.to_owned()));
    catchwire(words)
}

/// Weights of forty vines, heavier from row to row, with so many of 10 buds dead on each.
fn weights(dead: u32) -> String {
    let mut sheet = "row,vine,date,pruning_weight_lb,buds,buds_dead\n".to_owned();
    for at in 0..40_u32 {
        let (row, vine) = (1 + at % 8, 1 + at * 7 % 37);
        let pounds = 0.4 + 0.15 * f64::from(row);
        let _ = writeln!(sheet, "{row},{vine},2026-02-20,{pounds:.2},10,{dead}");
    }
    sheet
}

#[test]
fn pounds_and_feet_stand_beside_for_who_reads_them() {
    let field = field(&weights(1), |block| block);
    prune(field.path(), &["--units", "us"]).done();
    for line in table(&field.path().join("out/solaris/pruning.csv")) {
        let per_foot = number(&line, "pruning_kg_per_m") * 0.3048 / KG_PER_LB;
        assert!((number(&line, "pruning_lb_per_ft") - per_foot).abs() < 2e-5, "{line:?}");
        let spurs = number(&line, "spurs_per_m") * 0.3048;
        assert!((number(&line, "spurs_per_ft") - spurs).abs() < 2e-5, "{line:?}");
    }
    let weighed = table(&field.path().join("out/solaris/pruning-vines.csv"));
    let pounds = number(&weighed[0], "pruning_weight_lb");
    assert!((pounds - 0.55).abs() < 2e-5, "the lightest row was 0.55 lb: {pounds}");
}

#[test]
fn minimal_pruning_has_words_and_no_number() {
    let field = field(&weights(6), |block| block);
    let run = prune(field.path(), &["--bud-rule", "purdue"]).done();
    assert!(run.stdout.contains("purdue: prune minimally, no number"), "{}", run.stdout);
    for line in table(&field.path().join("out/solaris/pruning.csv")) {
        assert_eq!((line["nodes"].as_str(), line["spurs"].as_str()), ("", ""), "{line:?}");
        assert!(line["bud_rule_says"].starts_with("prune minimally"), "{line:?}");
        assert!(!line["nodes_cornell"].is_empty() && !line["nodes_survival"].is_empty());
    }
}

#[test]
fn a_formula_and_its_limits_are_options() {
    let field = field(&weights(0), |block| block);
    let options = ["--formula", "30+10", "--most-nodes", "36", "--fewest-nodes", "12"];
    prune(field.path(), &options).done();
    let weighed = table(&field.path().join("out/solaris/pruning-vines.csv"));
    // 1.60 lb by 30+10 are 36; none keeps more, and under a pound all keep the first pound's.
    let nodes: Vec<f64> = weighed.iter().map(|line| number(line, "nodes")).collect();
    assert!(nodes.iter().all(|nodes| (30.0..=36.0).contains(nodes)), "{nodes:?}");
    assert!(nodes.iter().any(|nodes| *nodes > 35.5), "{nodes:?}");
    let record = json(&field.path().join("out/solaris/run.json"));
    assert!(record["options"].to_string().contains("30+10"), "{}", record["options"]);
}

#[test]
fn two_weights_make_no_map_but_nodes_for_two_vines() {
    let sheet = "row,vine,pruning_weight_lb\n3,7,2.1\n3,19,1.4\n4,2,0\n";
    let field = field(sheet, |block| block);
    let run = prune(field.path(), &[]).done();
    assert!(
        run.stderr.contains("line 4, `pruning_weight`: a pruning weight of 0 is not used"),
        "{}",
        run.stderr
    );
    let out = field.path().join("out/solaris");
    assert!(!out.join("vine-size.png").exists(), "two vines are no map");
    // 20+10: 2.1 lb 31 nodes, 1.4 lb 24.
    let nodes: Vec<f64> =
        table(&out.join("pruning-vines.csv")).iter().map(|line| number(line, "nodes")).collect();
    assert_eq!(nodes, [31.0, 24.0]);
    let panels: Vec<String> =
        table(&out.join("pruning.csv")).iter().map(|line| line["panels"].clone()).collect();
    assert!(panels.iter().all(|panels| panels == "0"), "{panels:?}");
}

#[test]
fn few_buds_and_a_kind_without_a_formula_are_told() {
    let sheet = "row,vine,pruning_weight_lb,buds,buds_dead\n3,7,2.1,20,7\n3,19,1.4,,\n";
    let native = |block: String| block.replace("\"hybrid\"", "\"native\"");
    let field = field(sheet, native);
    let run = prune(field.path(), &[]).done();
    for words in ["only 20 buds were looked at", "no formula, so no number of nodes"] {
        assert!(run.stderr.contains(words), "`{words}`: {}", run.stderr);
    }
    let lines = table(&field.path().join("out/solaris/pruning-vines.csv"));
    assert!(lines.iter().all(|line| line["nodes"].is_empty() && !line["vine_size"].is_empty()));
}

#[test]
fn what_cannot_be_done_is_refused_and_nothing_is_written() {
    let plain = |block: String| block;
    let unsaid = |block: String| block.replace("\"standing\":true,", "");
    let shoots = "row,vine,shoots\n1,1,20\n2,2,22\n";
    let nowhere = "row,vine,pruning_weight_kg\n99,1,0.5\n";
    let check = |field: tempfile::TempDir, options: &[&str], code: i32, said: &[&str]| {
        prune(field.path(), options).refused(code, said);
        assert!(!field.path().join("out").exists(), "{said:?}");
    };
    check(field(&weights(1), unsaid), &[], 3, &["standing"]);
    check(field(shoots, plain), &[], 5, &["no pruning weight", "pruning_weight_kg"]);
    check(field(nowhere, plain), &[], 5, &["row 99"]);
    check(field(&weights(1), plain), &["--formula", "30"], 2, &["30+10"]);
    check(field(&weights(1), plain), &["--bud-rule", "ohio"], 2, &["cornell"]);
    let floor = ["--fewest-nodes", "40", "--most-nodes", "30"];
    check(field(&weights(1), plain), &floor, 2, &["40 nodes at least, but 30 at most"]);
    check(field("row,vine,yield_kg\n1,1,-3\n", plain), &[], 3, &["yield_kg", "line 2"]);
}

#[test]
fn only_what_is_wanted_is_written_and_twice_the_same() {
    let field = field(&weights(2), |block| block);
    let out = field.path().join("out");
    prune(field.path(), &["--write", "pruning.csv", "--dry-run"]).done();
    assert!(!out.exists());
    prune(field.path(), &["--write", "pruning.csv"]).done();
    let names: Vec<_> = files(&out).into_keys().collect();
    assert_eq!(names, [Path::new("solaris/pruning.csv"), Path::new("solaris/run.json")]);
    prune(field.path(), &["--force"]).done();
    let once = files(&out);
    assert_eq!(once.len(), 8, "{:?}", once.keys());
    prune(field.path(), &["--force", "--jobs", "1"]).done();
    assert!(files(&out) == once, "the same inputs give the same bytes");
    prune(field.path(), &[]).refused(4, &["--force"]);
}
