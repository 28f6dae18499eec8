//! Which block each record belongs to.

use super::UnjoinedRecord;
use crate::{counts::Count, names::BlockName};

/// Sorts records by the blocks that they name, in the order of `blocks`; records that name no
/// block of the run come last, with the reason.
///
/// A record without a block belongs to the only block of a run; among several it has none. Names
/// match whatever their case, their spaces and the zeros before a number are, when only one block
/// fits.
pub fn sort_by_block(
    blocks: &[&BlockName],
    counts: Vec<Count>,
) -> (Vec<Vec<Count>>, Vec<UnjoinedRecord>) {
    let mut sorted = vec![Vec::new(); blocks.len()];
    let mut leftovers = Vec::new();
    for count in counts {
        match block_of(blocks, count.block.as_deref()) {
            Ok(block) => sorted[block].push(count),
            Err(reason) => leftovers.push(UnjoinedRecord { count, reason }),
        }
    }
    (sorted, leftovers)
}

fn block_of(blocks: &[&BlockName], named: Option<&str>) -> Result<usize, String> {
    let named = named.map(str::trim).filter(|name| !name.is_empty());
    let Some(named) = named else {
        return match blocks {
            [_] => Ok(0),
            _ => Err(format!(
                "names no block, and the run has {}; fill the `block` column",
                blocks.len()
            )),
        };
    };
    if let Some(exact) = blocks.iter().position(|block| block.as_str() == named) {
        return Ok(exact);
    }
    let alike: Vec<usize> =
        (0..blocks.len()).filter(|&at| plain(blocks[at].as_str()) == plain(named)).collect();
    match alike[..] {
        [one] => Ok(one),
        [] => Err(format!("block `{named}` is not in this run, which has {}", list(blocks))),
        _ => Err(format!(
            "block `{named}` could be any of several whose names differ in case or zeros"
        )),
    }
}

/// A block's name whatever its case and spaces are; of a name that is a number, without the zeros
/// in front, which spreadsheets take off.
pub(super) fn plain(name: &str) -> String {
    let name = name.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
    let number = !name.is_empty() && name.bytes().all(|byte| byte.is_ascii_digit());
    if number { format!("{:0>1}", name.trim_start_matches('0')) } else { name }
}

fn list(blocks: &[&BlockName]) -> String {
    let names: Vec<String> = blocks.iter().take(6).map(|block| format!("`{block}`")).collect();
    let more = if blocks.len() > names.len() { ", …" } else { "" };
    format!("{}{more}", names.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sort(blocks: &[&str], named: &[Option<&str>]) -> (Vec<usize>, Vec<String>) {
        let blocks: Vec<BlockName> = blocks.iter().map(|name| name.parse().unwrap()).collect();
        let counts = named
            .iter()
            .map(|name| Count { block: name.map(str::to_owned), ..Count::default() })
            .collect();
        let (sorted, left) = sort_by_block(&blocks.iter().collect::<Vec<_>>(), counts);
        (sorted.iter().map(Vec::len).collect(), left.into_iter().map(|l| l.reason).collect())
    }

    #[test]
    fn records_go_to_the_block_they_name() {
        let named = [Some("North"), Some(" south  slope "), Some("West"), None];
        let (sorted, left) = sort(&["North", "South slope"], &named);
        assert_eq!(sorted, [1, 1]);
        assert!(left[0].contains("`West` is not in this run"), "{left:?}");
        assert!(left[1].contains("names no block"), "{left:?}");
    }

    #[test]
    fn a_number_that_lost_its_zeros_is_still_the_block() {
        assert_eq!(sort(&["007", "012"], &[Some("7"), Some("012"), Some("12")]).0, [1, 2]);
        let (sorted, left) = sort(&["007", "07"], &[Some("07"), Some("7"), Some("70")]);
        assert_eq!((sorted, left.len()), (vec![0, 1], 2));
        assert!(left[0].contains("differ in case or zeros"), "{left:?}");
    }

    #[test]
    fn a_record_without_a_block_belongs_to_the_only_one() {
        assert_eq!(sort(&["North"], &[None, Some("")]).0, [2]);
        assert_eq!(sort(&["a", "A"], &[Some("A")]).0, [0, 1]);
        assert_eq!(sort(&["North"], &[Some("South")]).1.len(), 1);
    }
}
