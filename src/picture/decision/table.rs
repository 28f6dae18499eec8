//! The table of zones.

use crate::{
    error::Error,
    names::{capital, rows_for_people},
    picture::{
        Anchor, Caption, Colour, Hand, Mark, Outline, PaperPoint, Shape, Stroke,
        colours::{INK, RULE, SOFT_INK},
        furniture::{Furniture, SMALL},
        lettering::{printable, shorten, wrap},
        words::{self, Reading},
    },
    plan::{Evidence, Interval, Plan, Verdict, VineTarget, ZonePlan},
    units::ReadingUnits,
    zones::Zone,
};

/// What is read in the table.
const CELL: Hand = Hand { size_mm: 3.4, bold: false };
/// What is read first.
const STRONG: Hand = Hand { bold: true, ..CELL };
/// Free paper above and below a row.
const PAD_MM: f64 = 1.4;
/// Shares of the width that the columns take.
const SHARES: [f64; 8] = [0.12, 0.12, 0.08, 0.15, 0.12, 0.13, 0.12, 0.16];

/// A table as wide as the page.
pub(super) struct Table {
    reading: Reading,
    units: ReadingUnits,
    renewal_shoots: f64,
    width_mm: f64,
}

/// A cell: its lines, the first the one that counts.
struct Cell {
    lines: Vec<String>,
    strong: bool,
}

impl Cell {
    fn of(lines: impl IntoIterator<Item = String>) -> Self {
        Self { lines: lines.into_iter().filter(|line| !line.is_empty()).collect(), strong: false }
    }

    fn strong(lines: impl IntoIterator<Item = String>) -> Self {
        Self { strong: true, ..Self::of(lines) }
    }
}

impl Table {
    pub(super) fn new(caption: &Caption, width_mm: f64) -> Self {
        let (units, renewal_shoots) = (caption.units, caption.renewal_shoots);
        Self { reading: words::shoots(units), units, renewal_shoots, width_mm }
    }

    /// The names of the columns.
    pub(super) fn head(&self) -> Result<Furniture, Error> {
        let density = self.reading.unit.clone();
        let names = [
            ["Zone", ""],
            ["Rows", ""],
            ["Vines", "counted"],
            [density.as_str(), "now"],
            ["to leave", "target"],
            ["Shoots to take off", ""],
            ["Person-hours", ""],
            ["When", ""],
        ];
        let names = names.map(|lines| Cell::of(lines.map(capital)));
        self.row(names, SOFT_INK)
    }

    /// One zone.
    pub(super) fn zone(
        &self,
        evidence: Evidence<'_>,
        plan: &Plan,
        at: usize,
    ) -> Result<Furniture, Error> {
        let (zone, planned) = (&evidence.zones.zones[at], &plan.zones[at]);
        let work = planned.verdict == Verdict::Overcrowded;
        let cells = [
            Cell::strong([title(zone), planned.verdict.word().replace('-', " ")]),
            Cell::of([rows_for_people(&zone.rows)]),
            Cell::of([words::grouped(zone.vines.len()), words::grouped(zone.counted_vines)]),
            Cell::of(self.density(zone)),
            Cell::of(self.to_leave(planned.target_per_m)),
            if work { Cell::strong(whole(planned.remove)) } else { Cell::of(["none".to_owned()]) },
            if work { Cell::strong(hours(planned.hours)) } else { Cell::of([String::new()]) },
            Cell::of(if work { self.days(planned) } else { Vec::new() }),
        ];
        self.row(cells, INK)
    }

    /// All zones together.
    pub(super) fn all(&self, evidence: Evidence<'_>, plan: &Plan) -> Result<Furniture, Error> {
        let zones = &evidence.zones.zones;
        let vines: usize = zones.iter().map(|zone| zone.vines.len()).sum();
        let counted: usize = zones.iter().map(|zone| zone.counted_vines).sum();
        let worked = plan.zones.iter().filter(|zone| zone.verdict == Verdict::Overcrowded);
        // The sum of nothing is −0.
        let hours = worked.map(|zone| zone.hours.value).sum::<f64>() + 0.0;
        let cells = [
            Cell::strong(["All".to_owned()]),
            Cell::of([String::new()]),
            Cell::of([words::grouped(vines), words::grouped(counted)]),
            Cell::of([String::new()]),
            Cell::of([String::new()]),
            Cell::strong(whole(plan.remove)),
            Cell::strong([tenths(hours)]),
            Cell::of([String::new()]),
        ];
        self.row(cells, INK)
    }

    fn density(&self, zone: &Zone) -> [String; 2] {
        let read = |per_m: f64| tenths(per_m * self.reading.factor);
        zone.density.map_or_else(
            || ["not known".to_owned(), String::new()],
            |mean| [read(mean.per_m), format!("{} to {}", read(mean.lo90), read(mean.hi90))],
        )
    }

    /// The aim, the target that it lies in, and what is left beside it.
    fn to_leave(&self, target: Option<VineTarget>) -> Vec<String> {
        let read = |per_m: f64| tenths(per_m * self.reading.factor);
        let Some(target) = target else { return Vec::new() };
        let band = format!("{} to {}", read(target.low_per_m), read(target.high_per_m));
        let renewal = (self.renewal_shoots > 0.0)
            .then(|| format!("+ {} a vine to renew", words::number(self.renewal_shoots, 1)));
        [read(target.aim_per_m), band].into_iter().chain(renewal).collect()
    }

    fn days(&self, plan: &ZonePlan) -> Vec<String> {
        let date = |date| words::date(date, self.units);
        let order = plan.order.map(|order| format!("no. {order} in the order of work"));
        let from = plan.thin_from.map(|day| format!("from {}", date(day)));
        let by = plan.thin_by.map(|day| format!("until {}", date(day)));
        [order, from, by].into_iter().flatten().collect()
    }

    /// A row with a line below.
    fn row(&self, cells: [Cell; 8], colour: Colour) -> Result<Furniture, Error> {
        let mut row = Furniture::default();
        let (mut left, mut height) = (0.0, 0.0_f64);
        for (cell, share) in cells.into_iter().zip(SHARES) {
            let width = share * self.width_mm;
            let mut down = PAD_MM;
            for (at, line) in cell.lines.iter().enumerate() {
                let hand = match (at, cell.strong) {
                    (0, true) => STRONG,
                    (0, false) => CELL,
                    _ => SMALL,
                };
                for part in fitted(line, hand, width - 2.0)? {
                    row.letter((left, down + hand.size_mm), part, hand, (Anchor::Start, colour));
                    down += 1.3 * hand.size_mm;
                }
            }
            height = height.max(down + PAD_MM);
            left += width;
        }
        row.marks.push(line_below(self.width_mm, height));
        row.height_mm = height;
        Ok(row)
    }
}

/// A cell's line in as many as it needs; a word too long is shortened.
fn fitted(line: &str, hand: Hand, width: f64) -> Result<Vec<String>, Error> {
    wrap(line, hand, width)?.iter().map(|part| shorten(part, hand, width)).collect()
}

fn line_below(width: f64, y: f64) -> Mark {
    let ends = [0.0, width].map(|x| PaperPoint::new(x, y));
    let stroke = Some(Stroke { colour: RULE, width_mm: 0.2, dash_mm: None });
    Mark::Shape(Shape { outlines: vec![Outline::Line(ends.to_vec())], fill: None, stroke })
}

fn title(zone: &Zone) -> String {
    let name = zone.name.as_deref().map(|name| format!(" {}", printable(name)));
    format!("{}{}", zone.id, name.unwrap_or_default())
}

/// Shoots in whole numbers with their range.
fn whole(shoots: Interval) -> [String; 2] {
    let number = |value: f64| words::grouped(crate::maths::whole(value.round().max(0.0)));
    let range = format!("{} to {}", number(shoots.lo90), number(shoots.hi90));
    [number(shoots.value), range]
}

fn hours(hours: Interval) -> [String; 2] {
    [tenths(hours.value), format!("{} to {}", tenths(hours.lo90), tenths(hours.hi90))]
}

fn tenths(value: f64) -> String {
    format!("{value:.1}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::picture::example::Example;

    #[test]
    fn what_is_to_leave_is_the_aim_with_its_target_and_the_renewal_shoots() {
        let target = VineTarget { low_per_m: 10.0, high_per_m: 16.0, aim_per_m: 12.0 };
        let caption = Example::small().caption();
        let metric = Caption { units: ReadingUnits::Metric, renewal_shoots: 1.0, ..caption };
        let said = Table::new(&metric, 250.0).to_leave(Some(target));
        assert_eq!(said, ["12.0", "10.0 to 16.0", "+ 1 a vine to renew"]);
        let feet = Caption { units: ReadingUnits::Us, renewal_shoots: 0.0, ..metric };
        assert_eq!(Table::new(&feet, 250.0).to_leave(Some(target)), ["3.7", "3.0 to 4.9"]);
        assert!(Table::new(&feet, 250.0).to_leave(None).is_empty());
    }
}
