//! Reads everything, reports all that is wrong and what would be done; writes nothing.

use super::{prepare, thin, thin_told};
use crate::{
    error::Error,
    finding::{Finding, Findings},
    frame::StandingRow,
    jobs::{Call, Ground, Report, report::BlockReport, survey_report::SurveyReport},
    layout,
};

/// Reads every input and goes through the stages that they allow, without writing.
///
/// # Errors
/// Wrong inputs: every fault of every file together.
pub fn check(call: &Call) -> Result<Report, Error> {
    let (inputs, findings) = prepare::read(call)?;
    let mut report = Report::new("check", &findings);
    let folders = prepare::folders(&inputs.blocks);
    if call.request.counts.is_empty() {
        let grounds = prepare::ground(call, &inputs, Some(false))?;
        for (ground, folder) in grounds.iter().zip(&folders) {
            report.notice(&ground.findings);
            report.notice(&prepare::missing_places(call, ground));
            report.notice(&prepare::raster_of_vigor(call, ground, inputs.vigor.as_ref())?);
            report.notice(&beside_the_growers_numbers(ground));
            let units = prepare::units(call, &ground.block);
            let told = BlockReport::of(ground, folder, units);
            report.blocks.push(with_survey(call, ground, told));
        }
    } else {
        for (thinning, folder) in thin::thin_all(call, &inputs, None)?.iter().zip(&folders) {
            report.notice(&thinning.ground.findings);
            report.notice(&beside_the_growers_numbers(&thinning.ground));
            report.notice(&thinning.findings);
            let told = thin_told::tell(call, thinning, folder);
            report.blocks.push(with_survey(call, &thinning.ground, told));
        }
    }
    prepare::strict(call, &report)?;
    let standing = inputs.blocks.iter().any(|block| block.keys.standing == Some(true));
    report.next.push(next_step(call, &report, standing));
    Ok(report)
}

/// The report of a block with how even its surveyed rows are.
fn with_survey(call: &Call, ground: &Ground, told: BlockReport) -> BlockReport {
    let survey = layout::survey(&ground.site, call.settings.layout().survey_tolerance);
    let spacing = ground.site.rules.row_spacing.metres();
    BlockReport { survey: survey.map(|survey| SurveyReport::of(&survey, spacing)), ..told }
}

fn next_step(call: &Call, report: &Report, standing: bool) -> String {
    let name = call.request.blocks.display();
    if call.request.counts.is_empty() && standing {
        format!("count shoots on 30 vines or more, then `catchwire check {name} --counts FILE`")
    } else if call.request.counts.is_empty() {
        format!("`catchwire layout {name} --out DIR` writes rows, vines and posts")
    } else if report.findings.iter().any(|finding| finding.severity == "warning") {
        format!("read the warnings, then `catchwire thin {name} --counts … --out DIR`")
    } else {
        format!("`catchwire thin {name} --counts … --out DIR` writes the plan and its maps")
    }
}

/// For a block that stands: rows whose number of places differs from the grower's own list.
fn beside_the_growers_numbers(ground: &Ground) -> Findings {
    // A row that is cut has a line for every piece.
    let rows = ground.site.standing_rows.chunk_by(|one, other| one.number == other.number);
    let differing = |lines: &[StandingRow]| {
        let number = lines.first()?.number;
        let expected: Option<u32> = lines.iter().map(|line| line.vines).sum();
        let expected = expected? as usize;
        let laid = ground.layout.vines.iter().filter(|vine| vine.row == number).count();
        (laid != expected).then(|| {
            let what = format!("row {number}: {laid} places laid out, {expected} said");
            Finding::warning(ground.block.place.clone(), what)
                .mend("count the places of the row, empty ones too")
        })
    };
    rows.filter_map(differing).collect()
}
