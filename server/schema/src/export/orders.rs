//! Content models of XML Schema for children that may stand in any order.
//!
//! XML Schema 1.0 lets several elements stand in any order only if each stands at most once (`all`), or all of them any
//! number of times. Anything else is spelled out: after each child, what may still come. That grows fast, so beyond a
//! certain size counts are given up, never more than it takes, and valid documents stay valid. In what is spelled out
//! the next element always tells which particle is meant (unique particle attribution).

/// A part of a content model.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Particle {
    pub(super) what: What,
    pub(super) min: u32,
    pub(super) max: Option<u32>,
}

impl Particle {
    fn is_nothing(&self) -> bool {
        matches!(&self.what, What::Sequence(parts) | What::Choice(parts) if parts.is_empty())
    }
}

#[derive(Clone, Debug, PartialEq)]
pub(super) enum What {
    /// A child, by its place in the list of rules.
    Element(usize),
    /// An element of another namespace.
    Foreign,
    Sequence(Vec<Particle>),
    Choice(Vec<Particle>),
    All(Vec<Particle>),
}

/// Particles that are spelled out at most.
const MOST_PARTICLES: usize = 120;
/// Children that are spelled out one after the other at most.
const LONGEST: usize = 12;

/// How often a child may stand: least and greatest number.
pub(super) type Count = (u32, Option<u32>);

/// A child, or several that stand for each other, with how often one of them may stand.
#[derive(Clone, Debug)]
pub(super) struct Unit {
    pub(super) what: What,
    pub(super) count: Count,
}

/// A model for children in any order, and whether counts had to be given up. `closed`: whether `all` will do, which
/// nothing else may stand in.
pub(super) fn any_order(units: &[Unit], closed: bool) -> (Particle, bool) {
    let is_single = |unit: &Unit| matches!(unit.what, What::Element(_));
    if units.len() < 2 {
        return (one_after_the_other(units), false);
    }
    let is_once = |unit: &Unit| is_single(unit) && unit.count.1 == Some(1);
    if closed && units.iter().all(is_once) {
        return (once(What::All(particles(units))), false);
    }
    if units.iter().all(|unit| unit.count == (0, None)) {
        return (any_number(units), false);
    }
    if let Some(exact) = spelled_out(units) {
        return (exact, false);
    }
    // Rather more of something than something missing.
    let without_most: Vec<Unit> = units
        .iter()
        .map(|unit| Unit {
            count: (unit.count.0, None),
            ..unit.clone()
        })
        .collect();
    if let Some(looser) = spelled_out(&without_most) {
        return (looser, true);
    }
    (any_number(units), true)
}

/// A model for children in their order. Elements of other namespaces may stand in the last place where any number may
/// stand: in more than one, they would not tell which is meant.
pub(super) fn one_after_the_other(units: &[Unit]) -> Particle {
    let mut parts = particles(units);
    let is_free = |part: &&mut Particle| part.min == 0 && part.max.is_none();
    for part in parts.iter_mut().filter(is_free).rev() {
        if let What::Choice(among) = &mut part.what {
            among.push(once(What::Foreign));
            break;
        }
    }
    once(What::Sequence(parts))
}

/// The same model with any number of elements of other namespaces in front and behind each element. It still tells which
/// particle is meant, since two of them never meet without an element between them.
pub(super) fn with_foreign(particle: Particle) -> Particle {
    once(What::Sequence(vec![foreign(), spaced(particle)]))
}

/// No deeper than what is spelled out.
fn spaced(particle: Particle) -> Particle {
    let all = |parts: Vec<Particle>| -> Vec<Particle> {
        let known = parts.into_iter().filter(|part| part.what != What::Foreign);
        known
            .map(spaced)
            .filter(|part| !part.is_nothing())
            .collect()
    };
    let what = match particle.what {
        element @ What::Element(_) => What::Sequence(vec![once(element), foreign()]),
        What::Sequence(parts) => What::Sequence(all(parts)),
        What::Choice(parts) => What::Choice(all(parts)),
        What::All(parts) => What::All(parts),
        What::Foreign => What::Foreign,
    };
    Particle { what, ..particle }
}

fn foreign() -> Particle {
    Particle {
        what: What::Foreign,
        min: 0,
        max: None,
    }
}

fn particles(units: &[Unit]) -> Vec<Particle> {
    let particles = units.iter().map(|unit| Particle {
        what: unit.what.clone(),
        min: unit.count.0,
        max: unit.count.1,
    });
    particles.collect()
}

fn once(what: What) -> Particle {
    Particle {
        what,
        min: 1,
        max: Some(1),
    }
}

/// Any number of these, and of elements of other namespaces.
fn any_number<'u>(units: impl IntoIterator<Item = &'u Unit>) -> Particle {
    let units = units.into_iter().map(|unit| unit.what.clone());
    Particle {
        what: What::Choice(units.chain([What::Foreign]).map(once).collect()),
        min: 0,
        max: None,
    }
}

fn spelled_out(units: &[Unit]) -> Option<Particle> {
    let mut left = MOST_PARTICLES;
    let parts = after(units, &mut vec![0; units.len()], LONGEST, &mut left)?;
    Some(once(What::Sequence(parts)))
}

/// What may come when each child stood `seen` times. None if that is too much to say.
fn after(
    units: &[Unit],
    seen: &mut Vec<u32>,
    longest: usize,
    left: &mut usize,
) -> Option<Vec<Particle>> {
    let is_free = |at: usize, seen: &[u32]| {
        let (min, max) = units[at].count;
        max.is_none() && seen[at] >= min
    };
    let free: Vec<usize> = (0..units.len()).filter(|at| is_free(*at, seen)).collect();
    let next: Vec<usize> = (0..units.len())
        .filter(|at| !is_free(*at, seen) && units[*at].count.1.is_none_or(|max| seen[*at] < max))
        .collect();
    *left = left.checked_sub(free.len() + next.len())?;
    let mut parts = vec![any_number(free.into_iter().map(|at| &units[at]))];
    if next.is_empty() {
        return Some(parts);
    }
    let longest = longest.checked_sub(1)?;
    let is_enough = units
        .iter()
        .zip(seen.iter())
        .all(|(unit, seen)| *seen >= unit.count.0);
    let mut ways = Vec::new();
    for child in next {
        seen[child] += 1;
        let rest = after(units, seen, longest, left);
        seen[child] -= 1;
        let mut way = vec![once(units[child].what.clone())];
        way.extend(rest?);
        ways.push(once(What::Sequence(way)));
    }
    parts.push(Particle {
        what: What::Choice(ways),
        min: u32::from(!is_enough),
        max: Some(1),
    });
    Some(parts)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn units(counts: &[Count]) -> Vec<Unit> {
        let units = counts.iter().enumerate().map(|(at, count)| Unit {
            what: What::Element(at),
            count: *count,
        });
        units.collect()
    }

    /// Whether a model accepts children, tried by brute force.
    fn accepts(particle: &Particle, children: &[usize]) -> bool {
        ends(particle, children, 0).contains(&children.len())
    }

    fn ends(particle: &Particle, children: &[usize], from: usize) -> Vec<usize> {
        let mut all = Vec::new();
        let mut now = vec![from];
        for round in 0..=children.len() as u32 + 1 {
            if round >= particle.min {
                all.extend(now.iter().copied());
            }
            if particle.max.is_some_and(|max| round >= max) {
                break;
            }
            let mut next: Vec<usize> = now
                .iter()
                .flat_map(|at| once_from(&particle.what, children, *at))
                .collect();
            next.sort_unstable();
            next.dedup();
            now = next;
        }
        all
    }

    fn once_from(what: &What, children: &[usize], from: usize) -> Vec<usize> {
        match what {
            What::Element(at) if children.get(from) == Some(at) => vec![from + 1],
            What::Element(_) | What::Foreign => Vec::new(),
            What::Choice(ways) => ways
                .iter()
                .flat_map(|way| ends(way, children, from))
                .collect(),
            What::Sequence(parts) => parts.iter().fold(vec![from], |now, part| {
                now.iter()
                    .flat_map(|at| ends(part, children, *at))
                    .collect()
            }),
            What::All(parts) => {
                let taken = children[from..].iter();
                let fits = parts.iter().enumerate().all(|(at, part)| {
                    let count = taken.clone().filter(|child| **child == at).count() as u32;
                    count >= part.min && part.max.is_none_or(|max| count <= max)
                });
                if fits {
                    vec![children.len()]
                } else {
                    Vec::new()
                }
            }
        }
    }

    #[test]
    fn what_is_spelled_out_accepts_just_what_the_counts_do() {
        let options: [Count; 6] = [
            (0, Some(1)),
            (1, Some(1)),
            (0, None),
            (1, None),
            (2, Some(3)),
            (2, None),
        ];
        let (mut tried, mut given_up) = (0, 0);
        for a in options {
            for b in options {
                for c in [(0, Some(1)), (0, None), (1, None)] {
                    let counts = [a, b, c];
                    let (model, loosened) = any_order(&units(&counts), true);
                    tried += 1;
                    given_up += u32::from(loosened);
                    for length in 0..=5_u32 {
                        for number in 0..3_usize.pow(length) {
                            let children: Vec<usize> = (0..length)
                                .map(|digit| number / 3_usize.pow(digit) % 3)
                                .collect();
                            let fits = counts.iter().enumerate().all(|(at, (min, max))| {
                                let count =
                                    children.iter().filter(|child| **child == at).count() as u32;
                                count >= *min && max.is_none_or(|max| count <= max)
                            });
                            let accepted = accepts(&model, &children);
                            let right = if loosened {
                                accepted || !fits
                            } else {
                                accepted == fits
                            };
                            assert!(right, "{counts:?} {children:?}");
                        }
                    }
                }
            }
        }
        // Two of `{2,3}`, and what is as long.
        assert!(given_up * 8 < tried, "{given_up} of {tried}");
    }

    #[test]
    fn counts_are_given_up_one_by_one() {
        let many = [
            (0, Some(1)),
            (0, Some(1)),
            (0, Some(1)),
            (0, Some(1)),
            (0, Some(1)),
            (1, Some(1)),
            (0, None),
        ];
        let (model, loosened) = any_order(&units(&many), true);
        assert!(loosened);
        assert!(accepts(&model, &[0, 0, 5, 6]));
        assert!(
            !accepts(&model, &[0, 6]),
            "the one that must stand is still asked for"
        );
    }
}
