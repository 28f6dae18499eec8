//! Files of several plans of one block: those of a sheet that was replaced may have come along.
//!
//! A plan is known by the first eight digits that a count sheet writes: into a journal, and into the
//! name of every file, `counts_BLOCK_PLAN_PHONE_ENTRY.csv`.

use std::collections::{BTreeMap, BTreeSet};

use super::{Journal, PLAN_DIGITS};
use crate::{
    finding::{Finding, Findings, Place},
    names::BlockName,
    read::Plans,
};

/// Digits of the phone in the name of a file.
const PHONE_DIGITS: usize = 4;

/// A file that a count sheet wrote.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::read) struct OfPlan {
    /// The block, as its folder is called.
    block: String,
    plan: String,
    file: String,
}

impl OfPlan {
    /// The plan of a journal.
    pub(in crate::read) fn of_journal(journal: &Journal) -> Self {
        let name = &journal.sheet.block;
        let block = name.parse::<BlockName>().map_or_else(|_| name.clone(), |name| name.folder());
        let file = journal.place.file.clone().unwrap_or_default();
        Self { block, plan: journal.sheet.short_plan().to_owned(), file }
    }

    /// The plan of a file by its name, as the page gives it.
    pub(in crate::read) fn of_name(file: &str) -> Option<Self> {
        let stem = file.strip_prefix("counts_")?.rsplit_once('.')?.0;
        let mut parts = stem.rsplitn(4, '_');
        // A browser puts ` (1)` behind the name of a second copy.
        let entry = parts.next()?.split(' ').next()?;
        let (phone, plan, block) = (parts.next()?, parts.next()?, parts.next()?);
        let hex = |text: &str, digits: usize| {
            text.len() == digits && text.bytes().all(|b| b.is_ascii_hexdigit())
        };
        let sound = hex(phone, PHONE_DIGITS)
            && hex(plan, PLAN_DIGITS)
            && !entry.is_empty()
            && entry.bytes().all(|b| b.is_ascii_digit());
        sound.then(|| Self {
            block: block.to_owned(),
            plan: plan.to_owned(),
            file: file.to_owned(),
        })
    }
}

/// Refuses files of several plans of one block, unless several are `wanted`.
pub(in crate::read) fn tell_several(files: &[OfPlan], wanted: Plans, findings: &mut Findings) {
    let mut blocks: BTreeMap<&str, Vec<(&str, BTreeSet<&str>)>> = BTreeMap::new();
    for OfPlan { block, plan, file } in files {
        let plans = blocks.entry(block).or_default();
        match plans.iter_mut().find(|(known, _)| known == plan) {
            Some((_, files)) => {
                files.insert(file);
            }
            None => plans.push((plan, BTreeSet::from([file.as_str()]))),
        }
    }
    for (block, plans) in blocks.into_iter().filter(|(_, plans)| plans.len() > 1) {
        findings.push(several(block, &plans, wanted));
    }
}

fn several(block: &str, plans: &[(&str, BTreeSet<&str>)], wanted: Plans) -> Finding {
    let place = Place::field("--counts");
    let what = format!("counts of {} plans of block `{block}`", plans.len());
    let named = plans.iter().map(|(plan, files)| {
        let files: Vec<&str> = files.iter().copied().collect();
        format!("{plan} ({})", files.join(", "))
    });
    let named = format!("they are {}", named.collect::<Vec<_>>().join(" and "));
    if wanted == Plans::Several {
        let why = format!("{named}; each is put together by itself, and all count");
        return Finding::note(place, what).because(why);
    }
    Finding::fault(place, what)
        .because(format!(
            "{named}; stops of a sheet that was replaced are not those of the new one"
        ))
        .mend(
            "leave out the files of the plan that was replaced, or pass --several-plans if each \
             sheet was to be counted",
        )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(name: &str) -> Option<[String; 2]> {
        OfPlan::of_name(name).map(|own| [own.block, own.plan])
    }

    #[test]
    fn the_plan_of_a_file_is_in_the_name_that_the_page_gives_it() {
        let north = Some(["north_b".to_owned(), "1a2b3c4d".to_owned()]);
        assert_eq!(of("counts_north_b_1a2b3c4d_00aa_12.csv"), north);
        assert_eq!(of("counts_north_b_1a2b3c4d_00aa_12 (1).csv"), north);
        assert_eq!(of("counts_north_b_1a2b3c4d_00aa_12.csv (2)"), north);
        for name in ["counts.csv", "counts_north_may_2026.csv", "counts_a_1a2b3c4_00aa_12.csv"] {
            assert_eq!(of(name), None, "{name}");
        }
    }

    #[test]
    fn two_plans_of_one_block_are_refused_unless_wanted() {
        let names = [
            "counts_north_1a2b3c4d_00aa_12.csv",
            "counts_south_99999999_00aa_3.csv",
            "counts_north_1a2b3c4d_00bb_7.csv",
            "counts_north_0f0f0f0f_00aa_9.csv",
        ];
        let files: Vec<OfPlan> = names.into_iter().filter_map(OfPlan::of_name).collect();
        let mut findings = Findings::none();
        tell_several(&files[..3], Plans::One, &mut findings);
        assert!(findings.is_empty(), "one plan a block");
        tell_several(&files, Plans::One, &mut findings);
        let told = findings.iter().next().unwrap().to_string();
        for words in ["2 plans", "`north`", names[0], names[2], names[3], "--several-plans"] {
            assert!(told.contains(words), "{told}");
        }
        assert!(findings.any_fault() && !told.contains("south"), "{told}");
        let mut findings = Findings::none();
        tell_several(&files, Plans::Several, &mut findings);
        assert!(!findings.is_empty() && !findings.any_fault());
    }
}
