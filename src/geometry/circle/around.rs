//! The smallest circle around all points.

use super::vector::{Vector, centre_of, farthest};
use super::{Circle, CircleError, Touching, centred};

/// The smallest circle that holds all points (minimum circumscribed circle), with its contacts.
///
/// The contacts are the proof: no smaller circle holds two points at the ends of a diameter, or three
/// that surround the centre. Found by exchange: start with the circle of the contacts, add the point
/// farthest outside it, take the smallest circle around these few, and repeat. The radius grows with
/// every exchange, so no set of contacts comes twice.
pub fn circumscribed_circle(points: &[(f64, f64)]) -> Result<Touching, CircleError> {
    let (places, mean) = centred(points)?;
    let (first, _) = farthest(&places, Vector::default());
    let (second, _) = farthest(&places, places[first]);
    let mut held = on_diameter(&places, first, second);
    // Rounding ends the growth of the radius: more exchanges than points were never seen.
    for _ in 0..=places.len() {
        let (out, distance) = farthest(&places, held.centre);
        let rounding = f64::EPSILON * 8.0 * (held.radius + held.centre.length());
        let next =
            if distance > held.radius + rounding { grown(&places, &held, out) } else { None };
        match next {
            Some(next) if next.radius > held.radius => held = next,
            Some(_) | None => {
                held.contacts.sort_unstable();
                let circle = Circle::moved(held.centre, distance.max(held.radius), mean);
                return Ok(Touching { circle, contacts: held.contacts });
            }
        }
    }
    Err(CircleError::NotSettled)
}

struct Held {
    centre: Vector,
    radius: f64,
    contacts: Vec<usize>,
}

fn on_diameter(places: &[Vector], one: usize, other: usize) -> Held {
    let centre = places[one].plus(places[other]).times(0.5);
    let radius = places[one].distance(places[other]) / 2.0;
    Held { centre, radius, contacts: vec![one, other] }
}

fn on_three(places: &[Vector], three: [usize; 3]) -> Option<Held> {
    let [a, b, c] = three.map(|number| places[number]);
    let centre = centre_of(a, b, c)?;
    let radius = [a, b, c].iter().map(|place| place.distance(centre)).fold(0.0, f64::max);
    Some(Held { centre, radius, contacts: three.to_vec() })
}

/// The smallest circle around the contacts and `out`: it touches `out`, and one or two of them.
fn grown(places: &[Vector], held: &Held, out: usize) -> Option<Held> {
    let few = || held.contacts.iter().copied();
    let twos = few().map(|one| Some(on_diameter(places, one, out)));
    let threes = few()
        .flat_map(|one| few().filter(move |two| *two > one).map(move |two| [one, two, out]))
        .map(|three| on_three(places, three));
    let holds = |circle: &Held| {
        let within = circle.radius * (1.0 + f64::EPSILON * 16.0);
        few().all(|number| places[number].distance(circle.centre) <= within)
    };
    twos.chain(threes).flatten().filter(holds).min_by(|a, b| a.radius.total_cmp(&b.radius))
}
