//! What each switch and main fuse makes dead.

use coachwire::engine::isolation;
use coachwire::plan::samples::SAMPLES;

use super::{flat, paper, printed, sampled};

#[test]
fn every_switch_and_fuse_that_opens_is_on_it_with_what_goes_dead_and_what_stays_live() {
    for sample in SAMPLES {
        let plan = sampled(sample.name);
        let papers = printed(&plan).0;
        let sheet = paper(&papers, "isolation.txt");
        let all = isolation::isolation(&plan);
        assert!(!all.is_empty());
        for opened in &all {
            let mut blocks = sheet.split("\n\n").map(flat);
            let head = |block: &String| {
                let rest = block.strip_prefix(opened.name.as_str());
                rest.is_some_and(|rest| rest.starts_with([' ', ','])) && block.contains(" open: DEAD: ")
            };
            let block = blocks.find(head).unwrap_or_else(|| panic!("{} is not in\n{sheet}", opened.name));
            let (dead, live) = block.split_once("STAYS LIVE").or(block.split_once("HELD UP")).expect("both are said");
            let names = |text: &str, id: &str| text.split([' ', ',', ':']).any(|word| word == id);
            for id in &opened.dead {
                assert!(names(dead, id.as_str()), "{id} of {}: {block}", opened.name);
            }
            for (id, why) in &opened.live {
                assert!(names(live, id.as_str()) || names(&block, id.as_str()), "{id}: {block}");
                assert!(block.contains(&flat(&format!("by {why}"))), "{why}: {block}");
            }
        }
        assert_eq!(sheet.matches(" open:").count(), all.len(), "{sheet}");
    }
}

#[test]
fn it_asks_for_the_meter() {
    for sample in SAMPLES {
        let sheet = flat(paper(&printed(&sampled(sample.name)).0, "isolation.txt"));
        assert!(sheet.contains("Prove dead with a meter before touching"), "{sheet}");
        assert!(sheet.contains("Panels are live at their own terminals in any light"), "{sheet}");
    }
}
