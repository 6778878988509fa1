//! Pedigrees in one line: `A / B // C` is the plant of A and B, crossed with C (Purdy, Loegering, Konzak, Peterson & Allan
//! 1968, Crop Science 8:405–406; from memory). The more slashes, the later the cross; from the third on they may be
//! written `/3/`, `/4/`. `A*2/B` has A twice: A crossed with the plant of A and B.

/// A plant of a pedigree.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Descent {
    /// By its name.
    Named(String),
    /// Of two parents, the female first.
    Cross(Box<Self>, Box<Self>),
}

impl Descent {
    /// Its pedigree in the same notation, with the fewest slashes.
    pub(super) fn written(&self) -> String {
        match self {
            Self::Named(name) => name.clone(),
            Self::Cross(female, male) => {
                let mark = match self.depth() {
                    1 => "/".to_owned(),
                    2 => "//".to_owned(),
                    depth => format!("/{depth}/"),
                };
                format!("{}{mark}{}", female.written(), male.written())
            }
        }
    }

    fn depth(&self) -> usize {
        match self {
            Self::Named(_) => 0,
            Self::Cross(female, male) => 1 + female.depth().max(male.depth()),
        }
    }
}

/// The most crosses that one line may tell of.
const DEEPEST: usize = 30;

/// Reads a pedigree. A single name is the plant itself.
pub(super) fn read(text: &str) -> Result<Descent, String> {
    let mut parts: Vec<(usize, String)> = vec![(0, String::new())];
    let mut rest = text.trim();
    while let Some(c) = rest.chars().next() {
        if c != '/' {
            if let Some((_, name)) = parts.last_mut() {
                name.push(c);
            }
            rest = &rest[c.len_utf8()..];
            continue;
        }
        let slashes = rest.len() - rest.trim_start_matches('/').len();
        let after = &rest[slashes..];
        let digits: String = after.chars().take_while(char::is_ascii_digit).collect();
        let numbered = slashes == 1 && !digits.is_empty() && after[digits.len()..].starts_with('/');
        let (rank, used) = match digits.parse::<usize>() {
            Ok(rank) if numbered => (rank, 1 + digits.len() + 1),
            _ => (slashes, slashes),
        };
        if rank == 0 || rank > DEEPEST {
            return Err(format!("'{text}' has a cross numbered {rank}."));
        }
        parts.push((rank, String::new()));
        rest = &rest[used..];
    }
    tree(&parts, text, 0)
}

fn tree(parts: &[(usize, String)], text: &str, depth: usize) -> Result<Descent, String> {
    let faulty = || {
        format!(
            "'{text}' is no pedigree. Write the female, a slash and the male, as in A / B // C."
        )
    };
    if depth > DEEPEST {
        return Err(faulty());
    }
    // The latest cross parts the line; before the first part stands no mark.
    let latest = parts.iter().skip(1).map(|(rank, _)| *rank).max();
    let Some(latest) = latest else {
        let name = parts.first().map_or("", |(_, name)| name.trim());
        return if name.is_empty() || name.contains('*') {
            Err(faulty())
        } else {
            Ok(Descent::Named(name.to_owned()))
        };
    };
    let mut at: Vec<usize> = (1..parts.len())
        .filter(|place| parts[*place].0 == latest)
        .collect();
    let Some(place) = at.pop().filter(|_| at.is_empty()) else {
        return Err(format!(
            "'{text}' has two crosses of the same rank beside each other. Give the later one more slashes."
        ));
    };
    let (left, right) = parts.split_at(place);
    let (left_times, left) = repeated(left).ok_or_else(faulty)?;
    let (right_times, right) = repeated(right).ok_or_else(faulty)?;
    let (female, male) = (
        tree(&left, text, depth + 1)?,
        tree(&right, text, depth + 1)?,
    );
    let mut plant = Descent::Cross(Box::new(female.clone()), Box::new(male.clone()));
    for _ in 1..left_times {
        plant = Descent::Cross(Box::new(female.clone()), Box::new(plant));
    }
    for _ in 1..right_times {
        plant = Descent::Cross(Box::new(plant), Box::new(male.clone()));
    }
    Ok(plant)
}

/// A plant that a number beside a star repeats: `A*2` on the left, `2*A` or `A*2` on the right.
fn repeated(parts: &[(usize, String)]) -> Option<(usize, Vec<(usize, String)>)> {
    let mut own = parts.to_vec();
    let [(_, name)] = own.as_mut_slice() else {
        return Some((1, own));
    };
    let Some((one, two)) = name.split_once('*') else {
        return Some((1, own));
    };
    let (times, rest) = match (one.trim().parse::<usize>(), two.trim().parse::<usize>()) {
        (Ok(times), Err(_)) => (times, two),
        (Err(_), Ok(times)) => (times, one),
        _ => return None,
    };
    *name = rest.trim().to_owned();
    (1..=DEEPEST).contains(&times).then_some((times, own))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shape(text: &str) -> String {
        fn drawn(plant: &Descent) -> String {
            match plant {
                Descent::Named(name) => name.clone(),
                Descent::Cross(female, male) => format!("({} {})", drawn(female), drawn(male)),
            }
        }
        read(text).map_or_else(|fault| fault, |plant| drawn(&plant))
    }

    /// The examples of Purdy et al. (1968), from memory: more slashes are later crosses, stars are backcrosses.
    #[test]
    fn later_crosses_have_more_slashes() {
        for (text, drawn) in [
            ("A", "A"),
            ("A/B", "(A B)"),
            ("A / B // C", "((A B) C)"),
            ("A//B/C", "(A (B C))"),
            ("A/B//C/D", "((A B) (C D))"),
            ("A/B//C/3/D", "(((A B) C) D)"),
            ("A/B//C///D", "(((A B) C) D)"),
            ("A*2/B", "(A (A B))"),
            ("A/2*B", "((A B) B)"),
            ("A/B*3", "(((A B) B) B)"),
        ] {
            assert_eq!(shape(text), drawn, "{text}");
            let again = read(&read(text).unwrap().written()).unwrap();
            assert_eq!(again, read(text).unwrap(), "{text}");
        }
    }

    #[test]
    fn what_is_no_pedigree_is_refused() {
        for text in [
            "", "/", "A/", "/B", "A/B/C", "A*x/B", "A/0/B", "A/99/B", "A*999/B",
        ] {
            assert!(read(text).is_err(), "{text}");
        }
    }
}
