//! The command line: arguments in, report out. Everything else is in the library.

mod applies;
mod args;
mod audit_text;
mod keys;
mod notices;
mod pruning;
mod report;
mod request;
mod season_text;
mod survey;
mod unknown;

use std::process::ExitCode;

use catchwire::{
    error::Error,
    jobs::{self, Report},
    settings::CrewWords,
};

use crate::args::{Command, Job, Output};

fn main() -> ExitCode {
    let cli = match applies::typed() {
        Ok(cli) => cli,
        Err((error, style)) => return report::finish(Err(error), style),
    };
    let output = output(&cli.command).map(|output| (output.json, output.quiet, output.jobs));
    let (json, quiet, threads) = output.unwrap_or_default();
    if let Some(threads) = threads {
        // A pool that stands already is as good: results do not depend on it.
        let _ = rayon::ThreadPoolBuilder::new().num_threads(threads.into()).build_global();
    }
    let result = run(&cli.command);
    report::finish(result, report::Style { json, quiet })
}

fn output(command: &Command) -> Option<&Output> {
    match command {
        Command::Check(job) | Command::Layout(job) | Command::Thin(job) | Command::Season(job) => {
            Some(&job.output)
        }
        Command::Sample(sample) => Some(&sample.job.output),
        Command::Audit(audit) => Some(&audit.job.output),
        Command::Bundle(bundle) => Some(&bundle.job.output),
        Command::Prune(prune) => Some(&prune.job.output),
        Command::Bearings(bearings) => Some(&bearings.job.output),
        Command::Demo(demo) => Some(&demo.output),
        Command::Settings(_) => None,
    }
}

/// What a command gives back: a report, or a text for stdout.
enum Outcome {
    Report(Box<Report>),
    Text(String),
}

fn run(command: &Command) -> Result<Outcome, Error> {
    let job = |job: &Job, run: fn(&jobs::Call) -> Result<Report, Error>| {
        run(&request::call(job)?).map(Box::new).map(Outcome::Report)
    };
    match command {
        Command::Check(typed) => job(typed, jobs::check::check),
        Command::Layout(typed) => job(typed, jobs::layout::layout),
        Command::Sample(typed) => {
            jobs::sample::sample(&request::sample(typed)?).map(Box::new).map(Outcome::Report)
        }
        Command::Bearings(typed) => {
            let call = request::bearings(typed)?;
            jobs::bearings::bearings(&call).map(Box::new).map(Outcome::Report)
        }
        Command::Thin(typed) => job(typed, jobs::thin::thin),
        Command::Season(typed) => job(typed, jobs::season::season),
        Command::Prune(typed) => {
            jobs::prune::prune(&request::prune(typed)?).map(Box::new).map(Outcome::Report)
        }
        Command::Audit(typed) => {
            jobs::audit::audit(&request::audit(typed)?).map(Box::new).map(Outcome::Report)
        }
        Command::Bundle(typed) => {
            jobs::bundle::bundle(&request::bundle(typed)?).map(Box::new).map(Outcome::Report)
        }
        Command::Demo(typed) => {
            jobs::demo::demo(&request::demo(typed)).map(Box::new).map(Outcome::Report)
        }
        Command::Settings(typed) if typed.words => {
            Ok(Outcome::Text(CrewWords::default().to_text()))
        }
        Command::Settings(typed) => {
            let read = request::settings(typed.settings.as_deref());
            read.map(|(settings, _)| Outcome::Text(jobs::settings::settings_text(&settings)))
        }
    }
}
