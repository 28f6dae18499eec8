//! Candidate row bearings for a new planting, side by side: numbers and what they cost, no choice.

use jiff::civil::Date;

use super::{
    bearings_told,
    deliver::{self, Made},
    prepare,
    record::{self, Told},
};
use crate::{
    block::Block,
    error::Error,
    finding::{Finding, Findings, Place},
    frame::Site,
    geodesy::SunPath,
    grid::Grid,
    jobs::{BearingOptions, Call, Report},
    layout::compare::{BearingRange, Comparison, compare},
    picture::{self, BearingCaption},
    read::Inputs,
    settings::Circumstances,
    units::Degrees,
    write::{Wanted, csv::csv, properties, run_record::Totals},
};

/// The files that `bearings` writes for a block.
pub const FILES: &[&str] = &["bearings.csv", "bearings.png", "bearings.svg", "run.json"];

/// Steps finer than this compare what no tape can stake, degrees; coarser ones compare nothing.
const STEPS: std::ops::RangeInclusive<f64> = 0.1..=45.0;
/// The longest season, days: a year that leaps.
const MOST_DAYS: i32 = 366;

/// A block with what its candidate bearings give.
pub(super) struct Compared {
    pub(super) block: Block,
    pub(super) site: Site,
    pub(super) comparison: Comparison,
    pub(super) findings: Findings,
}

/// What was asked, found sound.
struct Asked {
    range: BearingRange,
    days: Option<[Date; 2]>,
}

/// Reads, compares bearings of every block, writes, and tells.
///
/// # Errors
/// A call without an output folder or with a range that runs nowhere, wrong inputs, a block that
/// stands, files that cannot be written.
pub fn bearings(call: &Call) -> Result<Report, Error> {
    let wanted = deliver::wanted(call, FILES)?;
    let asked = Asked::of(&call.bearings).map_err(Error::Usage)?;
    let (inputs, findings) = prepare::read(call)?;
    let circumstances = prepare::circumstances(call, &inputs, Some(false));
    let elevation = inputs.elevation.as_ref();
    let compared = prepare::each(&inputs.blocks, |block| {
        compare_block(call, block, (&circumstances, elevation), &asked)
    })?;
    let folders = prepare::folders(&inputs.blocks);
    let mut report = Report::new("bearings", &findings);
    for (each, folder) in compared.iter().zip(&folders) {
        report.notice(&each.findings);
        report.blocks.push(bearings_told::tell(call, each, folder));
    }
    prepare::strict(call, &report)?;
    let make = |at: usize| files(call, &inputs, &compared[at], &wanted);
    deliver::deliver(call, &folders, &mut report, make)?;
    let step = report.look_at(&["bearings.png"], NEXT);
    report.go_on([step]);
    Ok(report)
}

const NEXT: &str = "lay out the bearings that you would plant: `catchwire layout … --row-bearing B \
                    --north true --out DIR`";

fn compare_block(
    call: &Call,
    block: &Block,
    (circumstances, elevation): (&Circumstances, Option<&Grid>),
    asked: &Asked,
) -> Result<Compared, Error> {
    if block.keys.standing == Some(true) {
        return Err(stands(block).into());
    }
    let own = block.keys.row_bearing.is_some() || !block.row_lines.is_empty();
    let mut placed = block.clone();
    if !own {
        placed.keys.row_bearing = Some(Degrees::new(0.0));
    }
    let (site, mut findings) = prepare::place(&placed, circumstances, elevation)?;
    let sun = asked.days.map(|days| SunPath::over(site.frame.origin(), site.rules.elevation, days));
    let sun =
        sun.transpose().map_err(|refusal| Error::Usage(refusal.at(Place::field("--sun-from"))))?;
    let settings = call.settings.compare();
    let comparison = compare(&site, own, &asked.range, &settings, sun.as_ref())?;
    findings.extend(left_aside(block));
    findings.extend(bearings_told::cautions(&site, &comparison));
    Ok(Compared { block: block.clone(), site, comparison, findings })
}

impl Asked {
    fn of(options: &BearingOptions) -> Result<Self, Finding> {
        let step = options.step.unwrap_or(1.0);
        if !STEPS.contains(&step) {
            return Err(Finding::fault(
                Place::field("--step"),
                format!("{step}° from bearing to bearing"),
            )
            .because("steps run from 0.1° to 45°")
            .mend("write a number such as 1 or 2.5"));
        }
        let step = Degrees::new(step);
        let range = match (options.from, options.to) {
            (None, None) => BearingRange::all(step),
            (Some(from), Some(to)) => BearingRange::between(from, to, step),
            (Some(_), None) => return Err(half("--from", "--to", "--to N60E")),
            (None, Some(_)) => return Err(half("--to", "--from", "--from N20W")),
        };
        Ok(Self { range, days: days(options)? })
    }
}

/// One end of a range without the other.
fn half(given: &str, missing: &str, such: &str) -> Finding {
    Finding::fault(Place::field(missing), format!("missing beside {given}"))
        .because("a range has two ends")
        .mend(format!("add the other end, such as {such}"))
}

fn days(options: &BearingOptions) -> Result<Option<[Date; 2]>, Finding> {
    let (first, last) = match (options.sun_from, options.sun_to) {
        (None, None) => return Ok(None),
        (Some(first), Some(last)) => (first, last),
        (Some(_), None) => return Err(half("--sun-from", "--sun-to", "--sun-to 2027-09-30")),
        (None, Some(_)) => return Err(half("--sun-to", "--sun-from", "--sun-from 2027-04-01")),
    };
    if last < first {
        return Err(Finding::fault(Place::field("--sun-to"), format!("{last} is before {first}"))
            .because("days run from the first to the last")
            .mend("turn the two dates round; a season over New Year ends in the next year"));
    }
    let days = (last - first).get_days().saturating_add(1);
    if days > MOST_DAYS {
        return Err(Finding::fault(Place::field("--sun-to"), format!("{days} days from {first}"))
            .because("a season is at most a year of 366 days")
            .mend("give the first and the last day of one growing season"));
    }
    Ok(Some([first, last]))
}

fn stands(block: &Block) -> Finding {
    Finding::fault(block.place.at_field("standing"), "the vines of this block stand")
        .because("bearings are compared for a new planting; rows that stand have theirs")
        .mend("leave the block out, or pass --standing false to compare what a replant would give")
}

/// Rows, lists and positions that say where vines stand say nothing about another bearing.
fn left_aside(block: &Block) -> Findings {
    let numbered = block.row_lines.iter().any(|line| line.row.is_some());
    let told = [
        (numbered, "row-lines with a number"),
        (!block.row_list.is_empty(), "the list of rows"),
        (!block.vines.is_empty(), "the vine positions"),
    ];
    let note = |(_, what): &(bool, &str)| {
        Finding::note(block.place.clone(), format!("{what} are left aside"))
            .because("every bearing is laid by the outline and the keys of the block alone")
    };
    told.iter().filter(|(there, _)| *there).map(note).collect()
}

/// The wanted files of one block, the run record among them.
fn files(call: &Call, inputs: &Inputs, each: &Compared, wanted: &Wanted) -> Result<Made, Error> {
    let units = prepare::units(call, &each.block);
    let days = call.bearings.sun_from.zip(call.bearings.sun_to).map(|(from, to)| [from, to]);
    let cautions = bearings_told::caution_words(&each.comparison);
    let rules = &each.site.rules;
    let lengths = [rules.row_spacing, rules.vine_spacing, rules.headland];
    let block = each.site.name.as_str();
    let caption = BearingCaption { block, lengths, units, days, cautions: &cautions };
    let scene = || picture::bearings_scene(&each.comparison, &caption);
    let mut made = deliver::made(FILES, wanted, |name| {
        Ok(Some(match name {
            "bearings.csv" => csv(&properties::bearings_table(&each.comparison, units)),
            "bearings.png" => picture::to_png(&scene()?)?,
            "bearings.svg" => picture::to_svg(&scene()?).into_bytes(),
            other => return Err(Error::Unexpected(format!("nothing makes `{other}`"))),
        }))
    })?;
    let own = each.comparison.candidates.iter().find(|candidate| candidate.own);
    let (rows, vines) = own.map_or((0, 0), |own| (own.counted.rows, own.counted.vines));
    let told = Told {
        command: "bearings",
        site: &each.site,
        counts: None,
        totals: Totals { rows, places: vines, vines, ..Totals::default() },
        method: bearings_told::method(&each.comparison),
        findings: &each.findings,
    };
    made.push((record::NAME.to_owned(), record::bytes(call, inputs, &told, &made)?));
    Ok(made)
}
