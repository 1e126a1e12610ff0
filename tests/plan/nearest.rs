//! A rule that there is none of: the names that come nearest to it.

use coachwire::plan::rules::{nearest, unknown};
use coachwire::standards::rules::{all, rule};

/// What a hand does to a name: a letter left out, doubled, another in its place, two exchanged (Damerau 1964: four of five slips are
/// one of these); a line under for a hyphen, a blank, capitals, the last word or letter left off.
fn slips(id: &str) -> Vec<String> {
    let letters: Vec<char> = id.chars().collect();
    let mut all = vec![id.replace('-', "_"), id.replace('-', " "), id.to_uppercase(), id.replace('-', "")];
    for i in 1..letters.len() {
        let (head, tail) = (&letters[..i], &letters[i..]);
        let of = |middle: &[char], tail: &[char]| [head, middle, tail].concat().into_iter().collect::<String>();
        all.push(of(&[], &tail[1..]));
        all.push(of(&[tail[0], tail[0]], &tail[1..]));
        all.push(of(&['#'], &tail[1..]));
        if tail.len() > 1 {
            all.push(of(&[tail[1], tail[0]], &tail[2..]));
        }
    }
    all.retain(|slip| rule(slip).is_none());
    all
}

/// Of every rule, whatever slip: the rule that was meant stands among those that are offered, and first unless the slip lies as near
/// to another.
#[test]
fn the_rule_that_was_meant_is_offered() {
    let (mut first, mut count) = (0, 0);
    for meant in all() {
        for slip in slips(meant.id) {
            let offered = nearest(&slip);
            let names: Vec<&str> = offered.split(", ").collect();
            assert!(names.contains(&meant.id), "{slip}: {offered}, not {}", meant.id);
            assert!(names.iter().all(|name| rule(name).is_some()), "{offered}");
            count += 1;
            first += usize::from(names[0] == meant.id);
        }
    }
    assert!(first * 100 >= count * 98, "{first} of {count}");
    for (slip, meant) in [("tap-time", "tap-times"), ("tap-length", "tap-length-m"), ("tap_length_ft", "tap-length-m")]
    {
        assert_eq!(nearest(slip).split(", ").next(), Some(meant));
        assert!(unknown(slip).starts_with(&format!("{slip} is no rule of this program; the nearest are {meant}")));
    }
}
