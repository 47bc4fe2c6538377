//! Drum brakes against a textbook's brake, numerical integration, and what must hold of any.

use linewalk::physics::Refusal;
use linewalk::physics::brakes::balance::Statics;
use linewalk::physics::brakes::drum::*;
use linewalk::physics::brakes::parking::{grade_held, shoe_pull};
use linewalk::units::{Angle, Force, Length, Torque};
use proptest::prelude::*;

use crate::near::{drawn, near, near_share};

fn metres(si: f64) -> Length {
    Length::from_si(si)
}

fn lining(from: f64, to: f64) -> Lining {
    Lining { from: Angle::from_si(from), to: Angle::from_si(to) }
}

/// The textbook's brake: drum 300 mm, pins at 125 mm and 30 degrees off, so that the arm is 2 x 125 cos 30 mm.
fn book() -> Shoe {
    let arm = 0.250 * 30.0_f64.to_radians().cos();
    let to = 120.0_f64.to_radians();
    Shoe { radius: metres(0.150), anchor: metres(0.125), arm: metres(arm), lining: lining(0.0, to) }
}

#[test]
fn the_textbook_brake() {
    // Shigley, Mechanical Engineering Design, internal rim brake: face 40 mm, 2.2 kN on each shoe, friction 0.28.
    // Printed: 734 kPa on the right-hand shoe. 277.6 and 144.4 N.m are worked from its data apart from this code.
    let (force, width) = (Force::from_si(2200.0), metres(0.040));
    let p = lining_pressure(book(), 0.28, Turning::Leading, force, width).unwrap();
    near(p.si() / 1e3, 734.0, 0.5, "Shigley, printed");
    let p = lining_pressure(book(), 0.28, Turning::Trailing, force, width).unwrap();
    near_share(p.si() / 1e3, 381.96, 0.001, "worked from its data");
    let torque = |turning| shoe_factor(book(), 0.28, turning).unwrap() * 0.150 * 2200.0;
    near_share(torque(Turning::Leading), 277.6, 0.001, "worked from its data");
    near_share(torque(Turning::Trailing), 144.4, 0.001, "worked from its data");
    near_share(leading_trailing_factor(book(), 0.28).unwrap() * 0.150 * 2200.0, 422.0, 0.001, "their sum");
}

/// Drum radius, pin, link, arm, both linings, friction and the factor found.
type Servo = (f64, f64, f64, f64, [f64; 2], [f64; 2], f64, f64);

#[derive(serde::Deserialize)]
struct Fixture {
    /// Drum radius, pin, arm, ends of the lining, friction, and the two factors found.
    shoes: Vec<[f64; 8]>,
    duo_servo: Vec<Servo>,
}

#[test]
fn shoes_and_duo_servo_against_numerical_integration() {
    let fixture: Fixture = serde_json::from_str(include_str!("../fixtures/drums/drums.json")).unwrap();
    assert!(fixture.shoes.len() > 15 && fixture.duo_servo.len() > 10);
    for [r, a, c, from, to, mu, leading, trailing] in fixture.shoes {
        let shoe = Shoe { radius: metres(r), anchor: metres(a), arm: metres(c), lining: lining(from, to) };
        near_share(shoe_factor(shoe, mu, Turning::Leading).unwrap(), leading, 1e-10, "SciPy, quad");
        near_share(shoe_factor(shoe, mu, Turning::Trailing).unwrap(), trailing, 1e-10, "SciPy, quad");
    }
    for (r, a, l, c, first, second, mu, factor) in fixture.duo_servo {
        let brake = DuoServo {
            radius: metres(r),
            anchor: metres(a),
            link: metres(l),
            arm: metres(c),
            primary: lining(first[0], first[1]),
            secondary: lining(second[0], second[1]),
        };
        near_share(duo_servo_factor(brake, mu).unwrap(), factor, 1e-10, "SciPy, 200 000 strips");
    }
}

#[test]
fn what_cannot_be_a_brake_is_refused() {
    let grabs = shoe_factor(Shoe { anchor: metres(0.06), ..book() }, 0.6, Turning::Leading);
    assert_eq!(grabs, Err(Refusal::ShoeGrabs));
    let outside = shoe_factor(Shoe { anchor: metres(0.16), ..book() }, 0.28, Turning::Leading);
    assert_eq!(outside, Err(Refusal::PinOutsideDrum));
    for ends in [lining(1.0, 0.5), lining(-0.1, 1.0), lining(0.1, 3.3)] {
        let refused = shoe_factor(Shoe { lining: ends, ..book() }, 0.28, Turning::Trailing);
        assert_eq!(refused, Err(Refusal::LiningArc));
    }
    let off = DuoServo {
        radius: metres(0.14),
        anchor: metres(0.11),
        link: metres(0.11),
        arm: metres(0.19),
        primary: lining(0.4, 1.2),
        secondary: lining(0.4, 2.4),
    };
    assert_eq!(duo_servo_factor(off, 0.3), Err(Refusal::ShoeFloatsOff));
    let far = DuoServo { link: metres(0.15), ..off };
    assert_eq!(duo_servo_factor(far, 0.3), Err(Refusal::PinOutsideDrum));
}

proptest! {
    #![proptest_config(drawn(200))]

    /// More friction never makes less of either shoe, and a trailing shoe never more than a leading one; both tend to the same
    /// as the friction goes away.
    #[test]
    fn factors_rise_with_friction(a in 0.70_f64..0.92, from in 0.0_f64..0.7, to in 1.8_f64..2.8, mu in 0.05_f64..0.45) {
        let shoe = Shoe { radius: metres(0.125), anchor: metres(0.125 * a), arm: metres(0.2), lining: lining(from, to) };
        let of = |mu, turning| shoe_factor(shoe, mu, turning);
        let lower = of(mu, Turning::Trailing).unwrap();
        prop_assert!(of(mu * 1.01, Turning::Trailing).unwrap() > lower);
        if let (Ok(one), Ok(more)) = (of(mu, Turning::Leading), of(mu * 1.01, Turning::Leading)) {
            prop_assert!(more > one && one > lower);
        }
        let (lead, trail) = (of(1e-9, Turning::Leading).unwrap(), of(1e-9, Turning::Trailing).unwrap());
        prop_assert!((lead / trail - 1.0).abs() < 1e-7);
    }
}

#[test]
fn parking_on_a_slope() {
    // 90 lbf at a lever of 6, 0.75 arrives, 5 on the shoe: 1 012.5 lbf at each tip.
    let force = shoe_pull(Force::from_si(90.0), 6.0, 0.75, 5.0).unwrap();
    near(force.si(), 1012.5, 1e-9, "arithmetic");
    let car = Statics {
        weight: Force::from_si(12_000.0),
        front_share: 0.55,
        cg_height: Length::from_si(0.4),
        wheelbase: Length::from_si(2.5),
        front_friction: 0.8,
        rear_friction: 0.8,
    };
    // 20 %: sin(atan 0.2) x 12 000 x 0.3 m = 706.02 N.m.
    let torque = Torque::from_si(0.2_f64.atan().sin() * 12_000.0 * 0.3);
    near(torque.si(), 706.02, 0.01, "arithmetic");
    near(grade_held(car, 0.45, 0.8, torque, metres(0.3)).unwrap(), 0.2, 1e-12, "back again");
    // However strong, the tires of the rear axle let go, nose down: 0.8 x 0.45 / (1 + 0.8 x 0.16) = 0.319 149.
    let strong = grade_held(car, 0.45, 0.8, Torque::from_si(1e6), metres(0.3)).unwrap();
    near(strong, 0.319_149, 1e-6, "arithmetic");
}
