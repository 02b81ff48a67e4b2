use std::collections::HashSet;
use syntax::*;
fn main() {
    let text = std::fs::read_to_string(std::env::args().nth(1).unwrap()).unwrap();
    let places: Vec<usize> = text
        .match_indices("<channel ")
        .map(|(i, _)| i + 9)
        .collect();
    let n = places.len();
    let tree0 = parse(&text);
    for k in 0..60 {
        let at0 = places[k * (n - 1) / 59];
        let mut text = text.clone();
        let mut tree = tree0.clone();
        for (i, c) in "abcdefghijklmnopqrs<".chars().enumerate() {
            let at = at0 + i;
            text.insert(at, c);
            let change = Change {
                range: TextRange::empty(TextSize::new(at as u32)),
                inserted: TextSize::new(1),
            };
            let t = std::time::Instant::now();
            let after = tree.edited(&text, change);
            let t = t.elapsed();
            let known: HashSet<Identity> =
                tree.portions().into_iter().map(|p| p.identity).collect();
            let new = after
                .portions()
                .into_iter()
                .filter(|p| !known.contains(&p.identity))
                .count();
            if new > 20 || t.as_millis() > 10 {
                println!(
                    "place {k} at {at0} key {c} new {new} {t:?}: {}",
                    &text[at0 - 40..at0 + 60]
                );
            }
            tree = after;
        }
        // and back in one go
        let at = at0;
        text.replace_range(at..at + 20, "");
        let change = Change {
            range: TextRange::new(TextSize::new(at as u32), TextSize::new(at as u32 + 20)),
            inserted: TextSize::new(0),
        };
        let t = std::time::Instant::now();
        let after = tree.edited(&text, change);
        let t = t.elapsed();
        let known: HashSet<Identity> = tree.portions().into_iter().map(|p| p.identity).collect();
        let new = after
            .portions()
            .into_iter()
            .filter(|p| !known.contains(&p.identity))
            .count();
        if new > 20 || t.as_millis() > 10 {
            println!("place {k} back new {new} {t:?}");
        }
    }
}
