//! What was typed → what is asked of the library.

use std::path::Path;

use catchwire::{
    block::{BlockKeys, North},
    error::Error,
    finding::{Finding, Place},
    jobs::{
        BearingOptions, Call, OutputOptions, PruningOptions, SamplingOptions, StakeOptions,
        ThinningOptions,
    },
    picture::{Ink, MapStyle, Paper, Up},
    read::{Plans, Request, text_and_hash_of, text_of},
    sample::Unit,
    settings::{CrewWords, Settings},
    units::ReadingUnits,
};

use crate::args::{
    AuditJob, Bearings, BundleJob, By, DemoArgs, InkWord, Job, Output, PruneJob, SampleJob, Sheet,
    Staking, Thinning, Units, UpWord, Writing,
};

/// The call of a job on a block file.
pub(crate) fn call(job: &Job) -> Result<Call, Error> {
    let reading = &job.reading;
    let (settings, settings_file) = settings(reading.settings.as_deref())?;
    Ok(Call {
        request: Request {
            blocks: job.blocks.clone(),
            overriding: keys(job)?,
            counts: job.counts.clone(),
            recount: Vec::new(),
            rows: job.rows.clone(),
            vines: job.vines.clone(),
            dem: job.dem.clone(),
            vigor: job.vigor.clone(),
            stops: None,
            swap_axes: reading.swap_axes,
            encoding: reading.encoding.clone(),
            strict: reading.strict,
            allow_unusual: reading.allow_unusual,
            plans: if reading.several_plans { Plans::Several } else { Plans::One },
            crs: reading.crs.clone(),
        },
        settings,
        settings_file,
        plan: None,
        sampling: SamplingOptions::default(),
        bearings: BearingOptions::default(),
        pruning: PruningOptions::default(),
        thinning: thinning(&job.thinning),
        stakes: stakes(&job.staking),
        output: output(&job.writing),
        words: words(job.writing.lang.as_deref())?,
        units: units(&job.output),
        options: options(job),
    })
}

/// The call of `sample`.
pub(crate) fn sample(typed: &SampleJob) -> Result<Call, Error> {
    let plain = call(&typed.job)?;
    let sampling = SamplingOptions {
        unit: match typed.sampling.by {
            By::Panel => Unit::Panel,
            By::Vine => Unit::Vine,
        },
        number: typed.sampling.number,
        hours: typed.sampling.hours,
        window: typed.sampling.window,
        for_audit: typed.sampling.for_audit,
    };
    let named = [
        ("by", Some(sampling.unit.words()[0].to_owned())),
        ("number", sampling.number.map(|number| number.to_string())),
        ("hours", sampling.hours.map(|hours| hours.to_string())),
        ("window", sampling.window.map(|window| window.to_string())),
        ("for-audit", sampling.for_audit.then(|| "true".to_owned())),
    ];
    let named = named.into_iter().filter_map(|(name, value)| Some((name.to_owned(), value?)));
    let options = plain.options.iter().cloned().chain(named).collect();
    if sampling.window.is_some() && sampling.unit == Unit::Panel {
        let finding = Finding::fault(Place::field("--window"), "a panel is counted whole")
            .mend("add --by vine, or leave --window out");
        return Err(Error::Usage(finding));
    }
    let request = Request { stops: typed.sampling.stops.clone(), ..plain.request };
    Ok(Call { request, sampling, options, ..plain })
}

/// The call of `prune`.
pub(crate) fn prune(typed: &PruneJob) -> Result<Call, Error> {
    let plain = call(&typed.job)?;
    let pruning = &typed.pruning;
    let named = [
        ("formula", pruning.formula.map(|formula| formula.to_string())),
        ("most-nodes", pruning.most_nodes.map(|nodes| nodes.to_string())),
        ("fewest-nodes", pruning.fewest_nodes.map(|nodes| nodes.to_string())),
        ("bud-rule", pruning.bud_rule.map(|rule| rule.to_string())),
    ];
    let named = named.into_iter().filter_map(|(name, value)| Some((name.to_owned(), value?)));
    let options = plain.options.iter().cloned().chain(named).collect();
    if let (Some(fewest), Some(most)) = (pruning.fewest_nodes, pruning.most_nodes)
        && fewest > most
    {
        let what = format!("{fewest} nodes at least, but {most} at most");
        let finding = Finding::fault(Place::field("--fewest-nodes"), what)
            .mend("give a floor that is no higher than the cap");
        return Err(Error::Usage(finding));
    }
    let pruning = PruningOptions {
        formula: pruning.formula,
        most_nodes: pruning.most_nodes,
        fewest_nodes: pruning.fewest_nodes,
        bud_rule: pruning.bud_rule,
    };
    Ok(Call { pruning, options, ..plain })
}

/// The call of `audit`.
pub(crate) fn audit(typed: &AuditJob) -> Result<Call, Error> {
    let plain = call(&typed.job)?;
    let request = Request { recount: typed.recount.clone(), ..plain.request };
    Ok(Call { request, plan: typed.plan.clone(), ..plain })
}

/// The call of `bundle`.
pub(crate) fn bundle(typed: &BundleJob) -> Result<Call, Error> {
    let plain = call(&typed.job)?;
    let mut options = plain.options.clone();
    options.extend(typed.move_place.then(|| ("move-place".to_owned(), "true".to_owned())));
    let output = OutputOptions { move_place: typed.move_place, ..plain.output.clone() };
    Ok(Call { output, options, ..plain })
}

/// The call of `bearings`.
pub(crate) fn bearings(typed: &Bearings) -> Result<Call, Error> {
    let candidates = &typed.candidates;
    let call = call(&typed.job)?;
    let date = |date: Option<jiff::civil::Date>| date.map(|date| date.to_string());
    let named = [
        ("step", candidates.step.map(|step| step.to_string())),
        ("from", candidates.from.map(|from| from.degrees().to_string())),
        ("to", candidates.to.map(|to| to.degrees().to_string())),
        ("sun-from", date(candidates.sun_from)),
        ("sun-to", date(candidates.sun_to)),
    ];
    let named = named.into_iter().filter_map(|(name, value)| Some((name.to_owned(), value?)));
    Ok(Call {
        bearings: BearingOptions {
            step: candidates.step,
            from: candidates.from,
            to: candidates.to,
            sun_from: candidates.sun_from,
            sun_to: candidates.sun_to,
        },
        options: named.chain(call.options.clone()).collect(),
        ..call
    })
}

/// Keys of blocks from the command line; `--date` also dates a compass bearing that is typed.
fn keys(job: &Job) -> Result<BlockKeys, Error> {
    let keys = job.keys.read().map_err(Error::Input)?;
    let compass = keys.north == Some(North::Magnetic);
    let date = keys.date.or(job.thinning.date.filter(|_| compass));
    Ok(BlockKeys { date, ..keys })
}

/// The settings, and the file that they came from with its hash.
type FromFile = (Settings, Option<(String, String)>);

/// The defaults, overruled by a file.
pub(crate) fn settings(file: Option<&Path>) -> Result<FromFile, Error> {
    let Some(path) = file else { return Ok((Settings::default(), None)) };
    let name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned();
    let (text, hash) = text_and_hash_of(path)?;
    Ok((Settings::from_text(&text, &name)?, Some((name, hash))))
}

/// The words of the crew sheet, overruled by a file.
fn words(file: Option<&Path>) -> Result<CrewWords, Error> {
    let Some(path) = file else { return Ok(CrewWords::default()) };
    let name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy();
    CrewWords::from_text(&text_of(path)?, &name)
}

fn thinning(typed: &Thinning) -> ThinningOptions {
    ThinningOptions {
        date: typed.date,
        crew: typed.crew,
        hours_per_day: typed.hours_per_day,
        last_frost: typed.last_frost,
        frost: typed.frost,
        variogram: typed.variogram,
        neighbours: typed.neighbours,
        no_count_noise: typed.no_count_noise,
        pool: typed.pool,
        whole_rows: typed.whole_rows,
        seed: typed.seed,
    }
}

fn stakes(typed: &Staking) -> StakeOptions {
    StakeOptions {
        order: typed.order,
        choice: typed.stake,
        points_per_file: usize::try_from(typed.points_per_file).unwrap_or(usize::MAX),
    }
}

/// Where and what is written.
pub(crate) fn output(typed: &Writing) -> OutputOptions {
    OutputOptions {
        folder: typed.out.clone(),
        force: typed.force,
        dry_run: typed.dry_run,
        paper: typed.paper.map(paper),
        style: style(typed),
        only: typed.write.clone(),
        move_place: false,
    }
}

fn paper(typed: Sheet) -> Paper {
    match typed {
        Sheet::Letter => Paper::Letter,
        Sheet::A4 => Paper::A4,
        Sheet::A3 => Paper::A3,
    }
}

fn style(typed: &Writing) -> MapStyle {
    MapStyle {
        up: match typed.up {
            None => Up::Best,
            Some(UpWord::North) => Up::North,
            Some(UpWord::Rows) => Up::Rows,
        },
        ink: match typed.ink {
            None | Some(InkWord::Colour) => Ink::Colour,
            Some(InkWord::Black) => Ink::Black,
        },
    }
}

/// Units of what people read, when typed.
pub(crate) fn units(typed: &Output) -> Option<ReadingUnits> {
    typed.units.map(|units| match units {
        Units::Us => ReadingUnits::Us,
        Units::Metric => ReadingUnits::Metric,
    })
}

/// The call of the demo.
pub(crate) fn demo(typed: &DemoArgs) -> Call {
    Call {
        output: OutputOptions {
            folder: Some(typed.out.clone()),
            force: typed.force,
            ..OutputOptions::default()
        },
        units: units(&typed.output),
        ..Call::default()
    }
}

/// A value that is not the usual one.
fn typed<T: PartialEq + ToString + Copy>(value: T, usual: T) -> Option<String> {
    (value != usual).then(|| value.to_string())
}

/// The options as typed that can change a result, for the run record; no paths.
fn options(job: &Job) -> Vec<(String, String)> {
    let thinning = &job.thinning;
    let reading = &job.reading;
    let date = |date: Option<jiff::civil::Date>| date.map(|date| date.to_string());
    let flag = |on: bool| on.then(|| "true".to_owned());
    let (staking, usual) = (stakes(&job.staking), StakeOptions::default());
    let drawn = style(&job.writing);
    let named = [
        ("crs", reading.crs.clone()),
        ("swap-axes", flag(reading.swap_axes)),
        ("encoding", reading.encoding.clone()),
        ("allow-unusual", flag(reading.allow_unusual)),
        ("several-plans", flag(reading.several_plans)),
        ("strict", flag(reading.strict)),
        ("date", date(thinning.date)),
        ("crew", thinning.crew.map(|crew| crew.to_string())),
        ("hours-per-day", thinning.hours_per_day.map(|hours| hours.to_string())),
        ("last-frost", date(thinning.last_frost)),
        ("frost", date(thinning.frost)),
        ("variogram", thinning.variogram.map(|model| model.to_string())),
        ("neighbours", thinning.neighbours.map(|neighbours| neighbours.to_string())),
        ("no-count-noise", flag(thinning.no_count_noise)),
        ("pool", flag(thinning.pool)),
        ("whole-rows", flag(thinning.whole_rows)),
        ("seed", thinning.seed.map(|seed| seed.to_string())),
        ("paper", job.writing.paper.map(|sheet| paper(sheet).word().to_lowercase())),
        ("up", typed(drawn.up, Up::default())),
        ("ink", typed(drawn.ink, Ink::default())),
        ("order", typed(staking.order, usual.order)),
        ("stake", typed(staking.choice, usual.choice)),
        ("points-per-file", typed(staking.points_per_file, usual.points_per_file)),
        ("write", job.writing.write.clone()),
    ];
    let named = named.into_iter().filter_map(|(name, value)| Some((name.to_owned(), value?)));
    named.chain(job.keys.typed()).collect()
}
