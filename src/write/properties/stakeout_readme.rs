//! `stakeout-readme.txt`: what a person with a receiver must know before the first stake.

use super::{
    stakeout::{PointOrder, StakeNumbers},
    text_page::TextPage,
};
use crate::{
    frame::{Site, StakeGrid},
    geodesy::{GeodesyError, GridUnit},
    layout::{Layout, MATERIALS_CAUTION, Stake, StakeKind, Stakes, across_checks, tape_checks},
    units::{Metres, ReadingUnits},
    write::layers::rounded,
};

/// What the sheet is made from.
#[derive(Debug, Clone, Copy)]
pub struct StakeSheet<'a> {
    /// The block.
    pub site: &'a Site,
    /// Its rows.
    pub layout: &'a Layout,
    /// What is staked out.
    pub stakes: &'a Stakes,
    /// The order of the table's columns.
    pub order: PointOrder,
    /// The grid; none where the table is in degrees.
    pub grid: Option<&'a StakeGrid>,
    /// The files that go with the sheet, each with what it holds.
    pub files: &'a [(String, String)],
    /// The units that people read.
    pub units: ReadingUnits,
}

/// The sheet as the bytes of `stakeout-readme.txt`.
///
/// # Errors
/// A place that the grid does not reach.
pub fn stakeout_readme(sheet: &StakeSheet<'_>) -> Result<Vec<u8>, GeodesyError> {
    let mut page = TextPage::default();
    page.title(&format!("Stake-out of {}", sheet.site.name));
    page.paragraph(
        "This is a plan, not a survey, and not a legal boundary. Where a line matters in law, a \
         licensed surveyor sets it. Have buried and overhead lines located before any stake, post \
         or anchor is driven; local rules and those who are licensed for the work go before \
         whatever stands here.",
    );
    sheet.told_files(&mut page);
    sheet.told_grid(&mut page)?;
    sheet.told_outline(&mut page);
    sheet.told_check_points(&mut page)?;
    sheet.told_tape(&mut page);
    sheet.told_names(&mut page);
    page.head("Posts and wires");
    page.paragraph(MATERIALS_CAUTION);
    Ok(page.into_bytes())
}

impl StakeSheet<'_> {
    fn told_files(&self, page: &mut TextPage) {
        page.head("Files");
        for (name, words) in self.files {
            page.item(name, words);
        }
    }

    fn told_grid(&self, page: &mut TextPage) -> Result<(), GeodesyError> {
        page.head("Coordinates");
        let Some(grid) = self.grid else {
            page.item("Numbers", "degrees of latitude and longitude, no grid");
            page.item("EPSG", "4326");
            page.item("Datum", "WGS 84, as the outline was given; no shift applied");
            page.item("Epoch", "not stated");
            page.item("Elevation", "empty: no stake has a height of its own");
            return Ok(());
        };
        let facts = &grid.facts;
        page.item("Grid", &facts.name);
        page.item("", if grid.asked { ASKED } else { NOT_ASKED });
        page.item("EPSG", grid.transform.code().trim_start_matches("EPSG:"));
        page.item("Datum", &datum(grid));
        page.item("Epoch", &facts.epoch.map_or(NOT_STATED.to_owned(), |year| year.to_string()));
        page.item("Unit", facts.unit.words());
        if let Some(words) = self.other_foot(grid)? {
            page.item("", &words);
        }
        page.item("Tie to WGS 84", &tie(grid));
        self.told_scale(page, grid);
        page.item("Elevation", "empty: no stake has a height of its own");
        Ok(())
    }

    /// What a stake would be off if one foot were taken for the other.
    fn other_foot(&self, grid: &StakeGrid) -> Result<Option<String>, GeodesyError> {
        let other = match grid.facts.unit {
            GridUnit::Metre => return Ok(None),
            GridUnit::Foot => GridUnit::SurveyFoot,
            GridUnit::SurveyFoot => GridUnit::Foot,
        };
        let Some(first) = self.stakes.stakes.first() else { return Ok(None) };
        let at = grid.point(self.site, first.at)?;
        let change = grid.facts.unit.metres() - other.metres();
        let off = at.east.hypot(at.north) * change.abs();
        Ok(Some(format!(
            "Set the receiver to this foot: read as {}, every stake would be off by {}.",
            other.words(),
            self.length(Metres::new(off), 2)
        )))
    }

    fn told_scale(&self, page: &mut TextPage, grid: &StakeGrid) {
        let (factors, frame) = (grid.factors, &self.site.frame);
        let along = factors.scale_along_parallel;
        let conformal = (factors.scale - along).abs() < 1e-8;
        let scale = if conformal {
            format!("{:.8}", factors.scale)
        } else {
            format!("{:.8} north to south, {along:.8} east to west", factors.scale)
        };
        page.item("Grid scale", &format!("{scale} at the block's middle"));
        let elevation = frame.elevation();
        let height = if elevation.metres().abs() < 1e-9 {
            "at elevation 0: none was given".to_owned()
        } else {
            format!("at {} above the ellipsoid", self.length(elevation, 1))
        };
        page.item("Elevation factor", &format!("{:.8} {height}", 1.0 / frame.ground_scale()));
        let combined = grid.combined_factor(self.site);
        page.item(
            "Combined factor",
            &format!(
                "{combined:.8}: 100 {unit} of tape on the ground are {:.4} {unit} on the grid",
                100.0 * combined,
                unit = if grid.facts.unit == GridUnit::Metre { "m" } else { "ft" },
            ),
        );
        let turn = factors.convergence.degrees();
        let side = if turn < 0.0 { "west" } else { "east" };
        page.item(
            "Convergence",
            &format!("grid north lies {:.5}° {side} of true north", rounded(turn.abs(), 5)),
        );
        let bearing = frame.bearing().true_north;
        let on_grid = crate::units::Degrees::new(bearing.degrees() - turn).normalised();
        page.item(
            "Row bearing",
            &format!(
                "{:.4}° from true north, {:.4}° on the grid",
                bearing.degrees(),
                on_grid.degrees()
            ),
        );
    }

    fn told_outline(&self, page: &mut TextPage) {
        let origin = &self.site.outline_origin;
        page.head("Outline");
        page.item("Source", origin.source.as_deref().unwrap_or(NOT_STATED));
        let accuracy = origin.accuracy.map(|off| self.length(off, 2));
        page.item("Accuracy", accuracy.as_deref().unwrap_or(NOT_STATED));
        page.paragraph(
            "Stakes are as good as the outline they were reckoned from: one drawn on a photograph \
             may lie metres beside the fence that it shows. Rows are straight and parallel \
             wherever they lie.",
        );
    }

    fn told_check_points(&self, page: &mut TextPage) -> Result<(), GeodesyError> {
        page.head("Check points");
        page.paragraph(
            "Two corners of the outline, as far apart as any. They come first in every file.",
        );
        let numbers = StakeNumbers::new(self.order, self.grid);
        let [_, first, second, ..] = self.order.heads();
        let known = |kind| self.stakes.stakes.iter().filter(move |stake| stake.kind == kind);
        for stake in known(StakeKind::Check).chain(known(StakeKind::Control)) {
            let [one, other] = numbers.of(self.site, stake)?;
            let at = self.site.frame.to_lon_lat(stake.at);
            page.item(&stake.name, &stake.id);
            if self.grid.is_some() {
                page.item("", &format!("{first} {one}, {second} {other}"));
            }
            page.item("", &format!("latitude {:.9}, longitude {:.9}", at.lat(), at.lon()));
        }
        let checks: Vec<&Stake> = known(StakeKind::Check).collect();
        if let [one, other] = checks[..] {
            let apart =
                (one.at.along_m - other.at.along_m).hypot(one.at.across_m - other.at.across_m);
            page.item("From one to the other", &self.length(Metres::new(apart), 3));
        }
        let steps = [
            ("1.", "Set the receiver to the grid, datum and unit above and load the table."),
            ("2.", "Stand on both check points, and on every control point, before anything else."),
            (
                "3.",
                "Both off by the same amount the same way: the outline or the correction service is \
                 in another frame. Off by different amounts: grid, unit or outline is wrong. Set \
                 nothing until that is explained.",
            ),
            ("4.", "Set the ends of the first and the last row, then tape what is listed below."),
        ];
        page.paragraph("How to use them:");
        for (mark, text) in steps {
            page.point(mark, text);
        }
        Ok(())
    }

    fn told_tape(&self, page: &mut TextPage) {
        page.head("Tape distances");
        page.paragraph(
            "On the ground, tape held level; on a slope break the tape into level steps. Near is \
             the end of vine 1, far the other.",
        );
        if self.site.rules.ground_spacing {
            page.paragraph(ALONG_GROUND);
        }
        for across in across_checks(self.layout) {
            let what = format!("row {} to row {}, square to the rows", across.from, across.to);
            page.item(&self.length(across.length, 3), &what);
        }
        for tape in tape_checks(self.layout) {
            let what = format!("{}: {} to {}", tape.what, tape.from, tape.to);
            page.item(&self.length(tape.length, 3), &what);
        }
        page.paragraph(&self.spacings());
    }

    fn spacings(&self) -> String {
        let rules = &self.site.rules;
        let [level, along] = if rules.ground_spacing {
            [", level", "by tape along the ground"]
        } else {
            ["", "along the row"]
        };
        format!(
            "Rows were asked {} apart{level}, vines {} {along}. Both diagonals must fit as well as \
             the sides do.",
            self.length(rules.row_spacing, 3),
            self.length(rules.vine_spacing, 3)
        )
    }

    fn told_names(&self, page: &mut TextPage) {
        page.head("Names");
        page.paragraph(
            "The first six characters of a short name are its own in the whole block; behind it \
             stands the long one. The row comes first, then a letter, then a number: A to N (no E, \
             no I) are vines, P to S line posts, X end posts, Y anchors. With rows of three digits, \
             A is up to 99, B 100 to 199 and so on: 012A07 is vine 7 of row 12, 012B07 vine 107. \
             X01 and Y01 stand at the near end of a row's first piece, X02 and Y02 at its far end. \
             Longer rows, or rows of more digits, take letters for digits. CHK is a check point, \
             CTL a control point of the block's file (from the thousandth on CT1000, from the ten \
             thousandth C10000).",
        );
        let in_rows = || self.stakes.stakes.iter().filter(|stake| stake.row.is_some());
        if let Some((first, last)) = in_rows().next().zip(in_rows().next_back()) {
            page.item(&first.name, &first.id);
            page.item(&last.name, &last.id);
        }
        if !self.stakes.numbered_through.is_empty() {
            let kinds: Vec<&str> =
                self.stakes.numbered_through.iter().map(|kind| kind.words()).collect();
            page.paragraph(&format!(
                "Here six characters do not hold row and number of every {}: those are numbered \
                 through the block, a letter first. The long name tells the row.",
                kinds.join(" and ")
            ));
        }
    }

    /// A length as people read it, metres behind feet.
    fn length(&self, length: Metres, decimals: usize) -> String {
        let metres = format!("{:.decimals$} m", length.metres());
        match self.units {
            ReadingUnits::Metric => metres,
            // A foot is three times finer than its metre: so are its decimals.
            ReadingUnits::Us => {
                let decimals = decimals.min(2);
                format!("{:.decimals$} ft ({metres})", length.feet())
            }
        }
    }
}

const ALONG_GROUND: &str = "Not so between vines: vine spacing, the gaps to end posts and anchors \
     and the panels of this block are tape laid along the ground. What \
     is listed here stays level all the same: rows from end post to end post, across the rows, \
     sides and diagonals.";
const NOT_STATED: &str = "not stated";
const ASKED: &str = "as named with --crs";
const NOT_ASKED: &str = "the UTM zone of the block's middle, because no --crs was given";

fn datum(grid: &StakeGrid) -> String {
    match grid.facts.family_m {
        Some(metres) => format!(
            "{}: a family of frames up to {metres} m apart; as the outline was given, no shift \
             applied",
            grid.facts.datum
        ),
        None => grid.facts.datum.clone(),
    }
}

fn tie(grid: &StakeGrid) -> String {
    let how = if grid.way.is_empty() { String::new() } else { format!(" ({})", grid.way) };
    let tie = match (grid.accuracy.ballpark, grid.accuracy.metres) {
        (true, _) => "a guess: stakes may be 100 m off".to_owned(),
        (false, Some(metres)) if metres <= 0.0 => return "the same datum, no shift".to_owned(),
        (false, Some(metres)) => format!("within {metres} m, as PROJ states it"),
        (false, None) => "PROJ does not state how well".to_owned(),
    };
    format!("{tie}{how}")
}
