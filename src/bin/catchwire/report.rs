//! What a person or a script reads back: the report on stdout, everything noticed on stderr.

use std::{
    fmt::Write as _,
    io::{self, Write as _},
    process::ExitCode,
};

use catchwire::{
    error::Error,
    jobs::{
        Report,
        report::{BearingsReport, BlockReport, FindingReport, SampleReport, StandoutReport},
        thinning_report::{DesignReport, MeanReport, ThinningReport, ZoneReport, ZoneWindowReport},
    },
    names::{named_rows, number_of},
    units::METRES_PER_FOOT,
};

use crate::{
    Outcome, audit_text::audit_text, notices::findings_text, pruning::pruning_text,
    season_text::season_text, survey::survey_text,
};

/// How the report is told.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Style {
    pub(crate) json: bool,
    pub(crate) quiet: bool,
}

/// Tells the result and gives the exit code.
pub(crate) fn finish(result: Result<Outcome, Error>, style: Style) -> ExitCode {
    match result {
        Ok(Outcome::Text(text)) => print(&text),
        Ok(Outcome::Report(report)) => {
            notice(&findings_text(&report.findings, style.quiet));
            match serde_json::to_string_pretty(&report) {
                Ok(json) if style.json => print(&(json + "\n")),
                _ if style.quiet => ExitCode::SUCCESS,
                _ => print(&report_text(&report)),
            }
        }
        Err(error) => {
            if style.json {
                print(&error_json(&error));
            }
            notice(&format!("{}\n", error_text(&error)));
            ExitCode::from(error.exit_code())
        }
    }
}

/// Writes to stdout; a reader that went away is no fault.
fn print(text: &str) -> ExitCode {
    let mut stdout = io::stdout().lock();
    match stdout.write_all(text.as_bytes()).and_then(|()| stdout.flush()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => ExitCode::SUCCESS,
        Err(error) => {
            notice(&format!("stdout cannot be written: {error}\n"));
            ExitCode::from(4)
        }
    }
}

/// Writes to stderr; when that is gone too there is nobody to tell.
fn notice(text: &str) {
    let _ = io::stderr().lock().write_all(text.as_bytes());
}

fn error_text(error: &Error) -> String {
    let Error::Input(findings) = error else { return format!("error: {error}") };
    let reports: Vec<FindingReport> = findings.iter().map(FindingReport::from).collect();
    let faults = reports.iter().filter(|finding| finding.severity == "fault").count();
    let head = number_of(faults, "fault");
    let text = findings_text(&reports, false);
    format!("{text}error: {head} in the input; nothing was written")
}

fn error_json(error: &Error) -> String {
    let findings: Vec<FindingReport> = match error {
        Error::Input(findings) => findings.iter().map(FindingReport::from).collect(),
        Error::Usage(finding) | Error::Nothing(finding) => vec![finding.into()],
        Error::File { .. } | Error::Unexpected(_) => Vec::new(),
    };
    let value = serde_json::json!({
        "schema": catchwire::jobs::report::SCHEMA,
        "error": error.to_string(),
        "exit_code": error.exit_code(),
        "findings": findings,
    });
    format!("{value:#}\n")
}

fn report_text(report: &Report) -> String {
    let mut text = String::new();
    for block in &report.blocks {
        block_text(&mut text, block);
    }
    let verb = if report.dry_run { "would be written" } else { "written" };
    match report.files.len() {
        0 => {}
        number => {
            let _ = writeln!(text, "{} {verb}:", number_of(number, "file"));
            for file in &report.files {
                let replaces = if file.replaces { "  (replaces one)" } else { "" };
                let _ = writeln!(text, "  {:>9}  {}{replaces}", size(file.bytes), file.file);
            }
        }
    }
    for next in &report.next {
        let _ = writeln!(text, "next: {next}");
    }
    text
}

fn size(bytes: usize) -> String {
    if bytes < 10_000 { format!("{bytes} B") } else { format!("{} kB", bytes / 1000) }
}

fn block_text(text: &mut String, block: &BlockReport) {
    let us = block.units == "us";
    let (length, area) = if us {
        (
            format!("{:.0} ft", block.row_length_m / METRES_PER_FOOT),
            format!("{:.2} ac", block.block_ha * 2.471_053_8),
        )
    } else {
        (format!("{:.0} m", block.row_length_m), format!("{:.2} ha", block.block_ha))
    };
    if let Some(bearings) = &block.bearings {
        let _ =
            writeln!(text, "{}: {} bearings compared, {area}", block.block, bearings.candidates);
        bearings_text(text, bearings, us);
        return;
    }
    let _ = writeln!(
        text,
        "{}: {}, {}, {}, {length} of row at {:.2}° true, {area}",
        block.block,
        number_of(block.rows, "row"),
        number_of(block.vines, "vine"),
        number_of(block.panels, "panel"),
        block.bearing_true_deg
    );
    if let Some(sample) = &block.sample {
        sample_text(text, sample, us);
    }
    if let Some(survey) = &block.survey {
        survey_text(text, survey, us);
    }
    if let Some(thinning) = &block.thinning {
        thinning_text(text, thinning, us);
    }
    if let Some(pruning) = &block.pruning {
        pruning_text(text, pruning, us);
    }
    if let Some(audit) = &block.audit {
        audit_text(text, audit, us);
    }
    if let Some(season) = &block.season {
        season_text(text, season, us);
    }
}

fn sample_text(text: &mut String, sample: &SampleReport, us: bool) {
    let walk = if us {
        format!("{:.0} ft", sample.walk_m / METRES_PER_FOOT)
    } else {
        format!("{:.0} m", sample.walk_m)
    };
    let unit = sample.unit;
    let _ = writeln!(
        text,
        "  count {}, {} of them close pairs; walk {walk}, about {:.1} h in all",
        number_of(sample.stops, unit),
        sample.close_pairs,
        sample.minutes / 60.0
    );
    let percent = |share: f64| format!("{:.1} %", 100.0 * share);
    let from = if sample.variation_from_counts { "by your counts" } else { "assumed" };
    let Some(expected) = sample.expected_error else { return };
    let _ = writeln!(
        text,
        "  the block's mean to within {} ({:.0} times in 100), if {unit}s vary by {} ({from})",
        percent(expected),
        100.0 * sample.confidence,
        percent(sample.variation)
    );
    let errors = sample.errors.iter();
    let errors: Vec<String> =
        errors.map(|(number, error)| format!("{number}: {}", percent(*error))).collect();
    let _ = writeln!(text, "  error by number of {unit}s: {}", errors.join(", "));
    for stratum in &sample.strata {
        let name = stratum.cultivar.as_deref().unwrap_or("no cultivar named");
        let _ = writeln!(
            text,
            "  {name}: {} of {} {unit}s drawn; {} vine places outside (row ends, young, missing)",
            stratum.drawn, stratum.could_be_drawn, stratum.vines_outside
        );
    }
}

fn bearings_text(text: &mut String, bearings: &BearingsReport, us: bool) {
    let (factor, unit) = if us { (1.0 / METRES_PER_FOOT, "ft") } else { (1.0, "m") };
    let slopes = bearings.standouts.iter().any(|found| found.slope_across_pct.is_some());
    let sun = bearings.standouts.iter().any(|found| found.sun_h.is_some());
    let median = format!("median {unit}");
    let _ =
        write!(text, "  {:<20} {:>8} {:>8}  {:>6} {:>13}", "", "bearing", "", "vines", "by offset");
    let _ = write!(text, " {median:>9} {:>6} {:>6}", "short", "turns");
    let _ = write!(text, "{}", if slopes { "  along  across" } else { "" });
    let _ = writeln!(text, "{}", if sun { "  sun on its sides" } else { "" });
    for found in &bearings.standouts {
        standout_text(text, found, factor);
    }
    let short = bearings.short_piece_m * factor;
    let _ = writeln!(text, "  short: pieces of row under {short:.0} {unit}");
    for line in bearings.beside.iter().chain(&bearings.cautions) {
        let _ = writeln!(text, "  {line}");
    }
}

fn standout_text(text: &mut String, found: &StandoutReport, factor: f64) {
    let StandoutReport { by, direction, vines, short_pieces, turns, .. } = found;
    let band =
        found.vines_by_offset.map_or_else(String::new, |[low, high]| format!("{low} to {high}"));
    let median = found.median_row_m.map_or_else(String::new, |m| format!("{:.0}", m * factor));
    let bearing = format!("{}°", (found.bearing_true_deg * 100.0).round() / 100.0);
    let _ = write!(text, "  {by:<20} {bearing:>8} {direction:>8}  {vines:>6} {band:>13}");
    let _ = write!(text, " {median:>9} {short_pieces:>6} {turns:>6}");
    if let Some((along, across)) = found.slope_along_pct.zip(found.slope_across_pct) {
        let _ = write!(text, "  {along:>3.1} %  {across:>4.1} %");
    }
    if let Some([right, left]) = found.sun_h {
        let _ = write!(text, "  {right:.1} h, {left:.1} h");
    }
    text.push('\n');
}

fn thinning_text(text: &mut String, thinning: &ThinningReport, us: bool) {
    let [joined, unjoined] = thinning.records;
    let counted = thinning.counted_vines;
    let (joined, counted) = (number_of(joined, "record"), number_of(counted, "vine"));
    let _ = writeln!(text, "  {joined} joined, {unjoined} not; {counted} counted");
    let _ = writeln!(text, "  map: {}", thinning.method);
    block_mean_text(text, (thinning.block.as_ref(), thinning.by_design.as_ref()), us);
    for target in &thinning.targets {
        let _ = writeln!(text, "  target: {target}");
    }
    let _ = writeln!(text, "  zones: {}", thinning.zones_why);
    for zone in &thinning.zones {
        zone_text(text, zone, us);
    }
    for difference in &thinning.differences {
        let _ = writeln!(text, "  {difference}");
    }
    if !thinning.differences.is_empty() {
        let _ = writeln!(
            text,
            "  (each range reaches as far as the map or the zones' own counts do: the map is smooth over a sharp border)"
        );
    }
    match &thinning.frost {
        Some(frost) => {
            let _ =
                writeln!(text, "  after the frost of {frost} nothing is planned: recount first");
        }
        None => plan_text(text, thinning),
    }
    let _ = writeln!(text, "  how sure:");
    for line in &thinning.sure {
        let _ = writeln!(text, "    {line}");
    }
}

/// The mean of the block, and what the draw alone says of it and of its plantings.
fn block_mean_text(
    text: &mut String,
    (block, design): (Option<&MeanReport>, Option<&DesignReport>),
    us: bool,
) {
    let (factor, unit) = if us { (METRES_PER_FOOT, "ft") } else { (1.0, "m") };
    if let Some(block) = block.filter(|block| block.from == "map") {
        let [mean, low, high] = block.shoots_per_m.map(|value| value * factor);
        let _ = writeln!(text, "  block: {mean:.1} shoots/{unit} ({low:.1} to {high:.1})");
    }
    let Some(design) = design else { return };
    let told = |[mean, half]: [f64; 2]| {
        format!("{:.1} ± {:.1} shoots/{unit} (90 %)", mean * factor, half * factor)
    };
    let [drawn, counted] = design.stops;
    if let Some(mean) = design.block {
        let _ = writeln!(
            text,
            "  from the draw alone: {}, {counted} of {drawn} stops; for the {:.0} % of the vines \
             that could be drawn",
            told(mean),
            100.0 * design.share_drawable
        );
    }
    let several = design.plantings.len() > 1 || design.block.is_none();
    for planting in design.plantings.iter().filter(|_| several) {
        let name = planting.cultivar.as_deref().unwrap_or("no cultivar named");
        let mean = told(planting.shoots_per_m);
        let _ = writeln!(text, "  {name}, from the draw alone: {mean}");
    }
}

/// What comes off in all, in how many hours, and until when.
fn plan_text(text: &mut String, thinning: &ThinningReport) {
    let _ = writeln!(
        text,
        "  in all: {:.0} shoots to take off, {:.0} person-hours ({})",
        thinning.remove, thinning.hours, thinning.labour
    );
    let window = &thinning.window;
    let date = |date: &Option<String>| date.clone().unwrap_or_else(|| "not known".to_owned());
    let until = if window.thin_by == window.thin_by_latest {
        date(&window.thin_by)
    } else {
        let (fast, slowly) = (date(&window.thin_by), date(&window.thin_by_latest));
        format!("{fast} if shoots grow fast, {slowly} if slowly")
    };
    let from = date(&window.thin_from);
    // Dates as ISO text: their order is that of the days.
    let closed = window.thin_from.as_ref().zip(window.thin_by.as_ref()).is_some_and(|(f, b)| f > b);
    let warning =
        if closed { ": it closes before it opens, so measure some shoots first" } else { "" };
    let _ = writeln!(text, "  thin from {from} until {until} ({}){warning}", window.source);
    for zone in &window.by_zone {
        let _ = writeln!(text, "    {}", zone_window_words(zone));
    }
    if let Some(crew) = &thinning.crew {
        let _ = writeln!(text, "  {crew}");
    }
}

/// Until when a zone is to be worked whose shoots are not those of the whole block.
fn zone_window_words(window: &ZoneWindowReport) -> String {
    let ZoneWindowReport { thin_by, thin_by_latest, zone } = window;
    let slowly = thin_by_latest.as_ref().filter(|latest| *latest != thin_by);
    let slowly = slowly.map_or_else(String::new, |latest| format!(", {latest} if slowly"));
    format!("by its own shoots {zone} closes on {thin_by}{slowly}: there that day holds")
}

fn zone_text(text: &mut String, zone: &ZoneReport, us: bool) {
    let (factor, unit) = if us { (METRES_PER_FOOT, "ft") } else { (1.0, "m") };
    let density = zone.shoots_per_m.map_or_else(
        || "no estimate".to_owned(),
        |[mean, low, high]| {
            let [mean, low, high] = [mean, low, high].map(|value| value * factor);
            format!("{mean:.1} shoots/{unit} ({low:.1} to {high:.1})")
        },
    );
    let aim =
        zone.target_per_m.map_or_else(String::new, |aim| format!(", aim {:.1}", aim * factor));
    let name = zone.name.as_ref().map_or_else(String::new, |name| format!(" “{name}”"));
    let [remove, low, high] = zone.remove;
    let work = if remove > 0.0 {
        let order =
            zone.order.map_or_else(String::new, |order| format!("; work it as no. {order}"));
        let [hours, least, most] = zone.hours;
        format!(
            ": take off {remove:.0} shoots ({low:.0} to {high:.0}), {hours:.1} h ({least:.1} to \
             {most:.1}){order}"
        )
    } else {
        String::new()
    };
    let _ = writeln!(
        text,
        "  {}{name}  {}, {}: {}, {density}{aim}{work}",
        zone.zone,
        named_rows(&zone.rows),
        number_of(zone.vines, "vine"),
        zone.verdict
    );
    for advice in &zone.advice {
        let _ = writeln!(text, "      {advice}");
    }
}
