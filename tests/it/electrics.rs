//! The resistance of a connection.

use linewalk::physics::electrics::resistance;
use linewalk::units::{Current, Voltage};

use crate::near::near;

#[test]
fn ohms_law() {
    // American wire gauge 10 is printed at 0.9989 ohm per 1 000 ft: 100 A lose 9.99 V over 100 ft (from memory).
    let r = resistance(Voltage::from_si(9.989), Current::from_si(100.0)).unwrap();
    near(r.si(), 0.099_89, 1e-6, "wire table, 100 ft of gauge 10");
    // The other way: the same wire from its copper, rho L / A, 1.7241e-8 ohm m and 5.261 mm2.
    near(r.si(), 1.7241e-8 * 30.48 / 5.261e-6, 5e-5, "resistivity of annealed copper");
    assert_eq!(resistance(Voltage::from_si(0.0), Current::from_si(1.0)).unwrap().si(), 0.0);
    assert!(resistance(Voltage::from_si(0.2), Current::from_si(0.0)).is_err());
    assert!(resistance(Voltage::from_si(-0.2), Current::from_si(4.0)).is_err());
}
