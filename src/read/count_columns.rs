//! Columns of a table of counts, in any of their units -> [`Count`]s.

use super::{
    cells::Cells,
    dates::tell_times,
    positions::named_degrees,
    spreadsheets::is_made_by_a_spreadsheet,
    table::{Table, look_alike},
};
use crate::{
    counts::{ChosenBy, Count, Position, Shoots, Spot, Status},
    finding::{Finding, Findings},
    units::{KILOGRAMS_PER_POUND, METRES_PER_FOOT, Metres},
};

/// A position that does not say how far off it is may be off by this much, metres.
const ACCURACY_M: f64 = 5.0;
/// More shoots on one vine or panel are a typing error or a mark for "not counted".
const MOST_SHOOTS: u32 = 5000;
const GREATEST_NUMBER: u32 = 1_000_000;
/// No planting has more vines to draw from.
const GREATEST_UNITS: u32 = 100_000_000;

/// The columns of a length in its units, each with its metres.
macro_rules! length_columns {
    ($quantity:literal) => {
        &[
            (concat!($quantity, "_ft"), METRES_PER_FOOT),
            (concat!($quantity, "_m"), 1.0),
            (concat!($quantity, "_cm"), 0.01),
            (concat!($quantity, "_mm"), 0.001),
            (concat!($quantity, "_in"), METRES_PER_FOOT / 12.0),
        ]
    };
}

const COUNTED_LENGTH: Units = length_columns!("counted_length");
const WINDOW_START: Units = length_columns!("window_start");
const CANOPY_LENGTH: Units = length_columns!("canopy_length");
const SHOOT_LENGTH: Units = length_columns!("shoot_length");
const PRUNING_WEIGHT: Units = &[
    ("pruning_weight_lb", KILOGRAMS_PER_POUND),
    ("pruning_weight_kg", 1.0),
    ("pruning_weight_g", 0.001),
    ("pruning_weight_oz", KILOGRAMS_PER_POUND / 16.0),
];
const YIELD: Units = &[("yield_kg", 1.0), ("yield_lb", KILOGRAMS_PER_POUND)];

/// Columns of one quantity, each with its unit in SI.
type Units = &'static [(&'static str, f64)];

/// Every column of a table of counts.
pub(super) const COLUMNS: &[&str] = &[
    "block",
    "id",
    "row",
    "vine",
    "panel",
    "place",
    "lon_deg",
    "lat_deg",
    "accuracy_m",
    "date",
    "visit",
    "counted_length_ft",
    "counted_length_m",
    "counted_length_cm",
    "counted_length_mm",
    "counted_length_in",
    "window",
    "window_start_ft",
    "window_start_m",
    "window_start_cm",
    "window_start_mm",
    "window_start_in",
    "canopy_length_ft",
    "canopy_length_m",
    "canopy_length_cm",
    "canopy_length_mm",
    "canopy_length_in",
    "shoots",
    "primary",
    "secondary",
    "base",
    "suckers",
    "shoot_length_in",
    "shoot_length_cm",
    "shoot_length_mm",
    "shoot_length_m",
    "shoot_length_ft",
    "pruning_weight_lb",
    "pruning_weight_kg",
    "pruning_weight_g",
    "pruning_weight_oz",
    "yield_kg",
    "yield_lb",
    "buds",
    "buds_dead",
    "minutes",
    "status",
    "counted_by",
    "note",
    // What a drawn sheet says beside: its order of stops, and where one is in words.
    "stop",
    "find",
    "why",
    // How it was chosen: for the mean, and then as one of how many.
    "drawn",
    "drawn_number",
    "drawn_from",
];

/// The records of a table, in its order; what is wrong is in the findings. A list of stops needs no
/// column that says what was `measured`.
pub(super) fn counts_of(
    mut table: Table,
    (allow_unusual, measured): (bool, bool),
    findings: &mut Findings,
) -> Vec<Count> {
    table.tell_unknown_columns(COLUMNS, findings);
    if let Some(finding) = missing_columns(&table, measured) {
        findings.push(finding);
        return Vec::new();
    }
    if table.rows.is_empty() {
        let what = "no record below the column names";
        let finding = Finding::warning(table.place.clone(), what)
            .because(
                "the file names its columns and holds nothing else; a record is a row below them",
            )
            .mend("fill in the rows and save the file, or leave it out");
        findings.push(finding);
    }
    let rows = std::mem::take(&mut table.rows);
    tell_times(&table, &rows, "date", findings);
    let mut counts = Vec::with_capacity(rows.len());
    for row in rows {
        let mut reader = Reader { cells: Cells::new(&table, &row, findings), allow_unusual };
        let count = reader.count();
        if !reader.cells.faulty {
            let raw = table.columns.iter().cloned().zip(row.cells).collect();
            counts.push(Count { raw, ..count });
        }
    }
    counts
}

fn missing_columns(table: &Table, wanted: bool) -> Option<Finding> {
    let has = |names: &[&str]| names.iter().all(|name| table.column(name).is_some());
    let found = || format!("columns found: {}", table.columns.join(", "));
    let placed = has(&["id"])
        || has(&["row", "vine"])
        || has(&["row", "panel"])
        || has(&["lon_deg", "lat_deg"]);
    if !placed {
        return Some(
            Finding::fault(table.place.clone(), "no columns say where a record belongs")
                .because(found())
                .mend("add `id`, or `row` and `vine`, or `row` and `panel`, or `lon_deg` and `lat_deg`"),
        );
    }
    let measures = [
        "shoots",
        "primary",
        "suckers",
        "buds",
        "minutes",
        "status",
        "shoot_length",
        "pruning_weight",
        "yield",
    ];
    let measured =
        table.columns.iter().any(|column| measures.iter().any(|m| column.starts_with(m)));
    (wanted && !measured).then(|| {
        Finding::fault(table.place.clone(), "no column says what was counted")
            .because(found())
            .mend("add `shoots`, or another measure such as `pruning_weight_kg` or `status`")
    })
}

struct Reader<'a> {
    cells: Cells<'a>,
    allow_unusual: bool,
}

impl Reader<'_> {
    fn count(&mut self) -> Count {
        let count = Count {
            block: self.cells.text("block"),
            spot: self.spot(),
            date: self.cells.date("date"),
            visit: self.cells.text("visit"),
            counted_length: self.length(COUNTED_LENGTH, 0.001, 1000.0),
            window: self.cells.text("window"),
            window_start: self.length(WINDOW_START, 0.0, 1000.0),
            canopy_length: self.length(CANOPY_LENGTH, 0.001, 1000.0),
            shoots: self.shoots(),
            suckers: self.tally("suckers"),
            shoot_length: self.length(SHOOT_LENGTH, 0.0, 10.0),
            pruning_weight_kg: self.in_units(PRUNING_WEIGHT, 0.0, 100.0),
            yield_kg: self.in_units(YIELD, 0.0, 2000.0),
            buds: self.tally("buds"),
            buds_dead: self.tally("buds_dead"),
            minutes: self.cells.number("minutes", 0.0, 100_000.0),
            status: self.status(),
            chosen_by: self.chosen_by(),
            counted_by: self.cells.text("counted_by"),
            note: self.cells.text("note"),
            raw: Vec::new(),
            place: self.cells.place().clone(),
        };
        self.refuse_contradictions(&count);
        count
    }

    fn spot(&mut self) -> Spot {
        Spot {
            id: self.id(),
            row: self.cells.whole("row", 0, GREATEST_NUMBER),
            vine: self.cells.whole("vine", 1, GREATEST_NUMBER),
            panel: self.cells.whole("panel", 1, GREATEST_NUMBER),
            place: self.cells.whole("place", 1, GREATEST_NUMBER),
            position: self.position(),
        }
    }

    fn id(&mut self) -> Option<String> {
        let id = self.cells.text("id")?;
        if let Some(stranger) = look_alike(&id) {
            self.cells.fault("id", format!("`{id}` holds {stranger}"), "type the id again");
        } else if is_made_by_a_spreadsheet(&id) {
            let what = format!(
                "`{id}` looks like an id that a spreadsheet turned into a date or a number"
            );
            self.cells.fault("id", what, "type the id again in a column formatted as text");
        }
        Some(id)
    }

    fn position(&mut self) -> Option<Position> {
        let lon = self.cells.number("lon_deg", -1e9, 1e9);
        let lat = self.cells.number("lat_deg", -1e9, 1e9);
        let accuracy = self.cells.number("accuracy_m", 0.0, 100_000.0);
        let (lon, lat) = match (lon, lat) {
            (Some(lon), Some(lat)) => (lon, lat),
            (None, None) => return None,
            _ if self.cells.faulty => return None,
            _ => {
                let what = "one of longitude and latitude is missing".to_owned();
                self.cells.fault("lon_deg", what, "give both, or neither");
                return None;
            }
        };
        match named_degrees(lon, lat, self.cells.place()) {
            Ok(at) => Some(Position { at, accuracy: Metres::new(accuracy.unwrap_or(ACCURACY_M)) }),
            Err(finding) => {
                self.cells.fault("lon_deg", finding.what, &finding.mend);
                None
            }
        }
    }

    fn tally(&mut self, column: &str) -> Option<u32> {
        let most = if self.allow_unusual { GREATEST_NUMBER } else { MOST_SHOOTS };
        self.cells.whole(column, 0, most)
    }

    fn length(&mut self, columns: Units, least: f64, most: f64) -> Option<Metres> {
        self.in_units(columns, least, most).map(Metres::new)
    }

    /// A quantity from whichever column holds it, in SI.
    fn in_units(&mut self, columns: Units, least: f64, most: f64) -> Option<f64> {
        let mut found: Option<(&str, f64)> = None;
        for (column, unit) in columns {
            let Some(number) = self.cells.number(column, least / unit, most / unit) else {
                continue;
            };
            if let Some((other, _)) = found {
                let what = format!("filled in as well as `{other}`");
                self.cells.fault(column, what, "give the length or weight in one unit");
            }
            found = Some((column, number * unit));
        }
        found.map(|(_, value)| value)
    }

    fn shoots(&mut self) -> Option<Shoots> {
        let all = self.tally("shoots");
        let parts = ["primary", "secondary", "base"].map(|part| self.tally(part));
        let [primary, secondary, base] = parts;
        let sum: u32 = parts.iter().flatten().sum();
        let complete = parts.iter().all(Option::is_some);
        match (all, primary) {
            (Some(all), _) => {
                if sum > all || (complete && sum < all) {
                    let what = format!("{all} shoots, but their parts add up to {sum}");
                    self.cells.fault(
                        "shoots",
                        what,
                        "correct one of them, or leave `shoots` empty",
                    );
                }
                Some(Shoots { all, secondary, base })
            }
            (None, Some(_)) => Some(Shoots { all: sum, secondary, base }),
            (None, None) if secondary.is_some() || base.is_some() => {
                let what = "parts of the shoots without the primary ones".to_owned();
                self.cells.fault("primary", what, "fill in `primary`, or all of them as `shoots`");
                None
            }
            (None, None) => None,
        }
    }

    fn status(&mut self) -> Option<Status> {
        const ALL: [Status; 5] =
            [Status::Present, Status::Missing, Status::Young, Status::Replant, Status::Renewal];
        let text = self.cells.text("status")?;
        let status = ALL.into_iter().find(|status| status.word() == text.to_lowercase());
        if status.is_none() {
            let what = format!("no status `{text}`");
            self.cells.fault("status", what, "write present, missing, young, replant or renewal");
        }
        status
    }

    fn chosen_by(&mut self) -> Option<ChosenBy> {
        let number = self.cells.whole("drawn_number", 1, GREATEST_UNITS);
        let of = self.cells.whole("drawn_from", 1, GREATEST_UNITS);
        let word = self.cells.text("drawn")?.to_lowercase();
        let [mean, pair, chosen] = ChosenBy::WORDS;
        if word == pair {
            return Some(ChosenBy::Pair);
        } else if word == chosen {
            return Some(ChosenBy::Somebody);
        } else if word != mean {
            let what = format!("no way of choosing a stop is called `{word}`");
            self.cells.fault("drawn", what, "write mean, pair, chosen, or leave the cell empty");
            return None;
        }
        match (number, of) {
            (Some(number), Some(of)) if number <= of => Some(ChosenBy::Drawn { number, of }),
            _ if self.cells.faulty => None,
            _ => {
                let what = "drawn for the mean, but not as one of how many".to_owned();
                let mend =
                    "keep `drawn_number` and `drawn_from` as the sheet had them, or clear `drawn`";
                self.cells.fault("drawn", what, mend);
                None
            }
        }
    }

    fn refuse_contradictions(&mut self, count: &Count) {
        if let (Some(dead), Some(buds)) = (count.buds_dead, count.buds)
            && dead > buds
        {
            let what = format!("{dead} dead buds of {buds}");
            self.cells.fault("buds_dead", what, "`buds` counts all buds looked at");
        }
        let shoots = count.shoots.map_or(0, |shoots| shoots.all);
        if count.status == Some(Status::Missing) && shoots > 0 {
            let what = format!("{shoots} shoots on a missing vine");
            self.cells.fault("status", what, "correct the status, or leave the shoots empty");
        }
    }
}
