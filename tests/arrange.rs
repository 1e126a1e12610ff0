//! Lists put in order: as the library's own sort does it.

use coachwire::arrange::Arrange;
use proptest::prelude::*;

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Source: the standard library's stable sort.
    #[test]
    fn as_the_library_does(keys in prop::collection::vec(0_u8..9, 0..60)) {
        let list: Vec<(u8, usize)> = keys.into_iter().zip(0..).collect();
        let (mut ours, mut theirs) = (list.clone(), list.clone());
        ours.arrange_by_key(|(key, _)| *key);
        theirs.sort_by_key(|(key, _)| *key);
        prop_assert_eq!(&ours, &theirs);
        let (mut ours, mut theirs) = (list.clone(), list);
        ours.arrange_by(|a, b| b.0.cmp(&a.0));
        theirs.sort_by_key(|(key, _)| std::cmp::Reverse(*key));
        prop_assert_eq!(ours, theirs);
    }
}
