//! Support spacings and bend radii: the rows, the size rule, the table that is used.

use linewalk::cite::Basis;
use linewalk::physics::limits::{
    LimitError, Metal, bend_margin, least_bend_radius, support_margin, support_spacing,
};
use linewalk::units::Length;

fn inches(value: f64) -> Length {
    Length::from_inches(value)
}

fn mm(value: f64) -> Length {
    Length::from_si(value / 1000.0)
}

fn spacing(od: Length, metal: Metal) -> f64 {
    support_spacing(od, metal).unwrap().used.value.si() / 0.0254
}

fn radius(od: Length, metal: Metal) -> f64 {
    least_bend_radius(od, metal).unwrap().value.si() / 0.0254
}

#[track_caller]
fn same(got: f64, want: f64) {
    assert!((got - want).abs() < 1e-12, "{got} against {want}");
}

#[test]
fn rows_of_the_spacing_tables() {
    // MIL-H-8891A Table II from 1/4 in up; the two smallest and the aluminium column from memory of the FAA handbook.
    for (od, steel) in [
        (0.125, 11.5),
        (0.1875, 14.0),
        (0.25, 16.0),
        (0.3125, 18.0),
        (0.375, 20.0),
        (0.5, 23.0),
        (0.625, 25.5),
        (0.75, 27.5),
        (1.0, 30.0),
        (1.25, 31.5),
        (1.5, 32.5),
    ] {
        same(spacing(inches(od), Metal::Steel), steel);
    }
    same(spacing(inches(0.1875), Metal::Aluminium), 12.0);
    same(spacing(inches(0.5), Metal::Aluminium), 19.0);
    same(spacing(inches(0.1875), Metal::Other), 9.0);
    same(spacing(inches(0.5), Metal::Other), 16.0);
}

#[test]
fn the_table_used_is_named_and_the_stricter_one_is_handed_back() {
    let limit = support_spacing(inches(0.1875), Metal::Steel).unwrap();
    assert_eq!(limit.used.table, "hydraulic-line table");
    assert_eq!(limit.used.cite.basis, Basis::FromMemory);
    let stricter = limit.stricter.unwrap();
    assert_eq!((stricter.table, stricter.cite.document), ("fuel-line table", "AC 43.13-1B"));
    same(stricter.value.si() / 0.0254, 9.0);
    let quarter = support_spacing(inches(0.25), Metal::Steel).unwrap();
    assert_eq!((quarter.used.cite.document, quarter.used.cite.basis), ("MIL-H-8891A", Basis::Published));
    // At 1 in both tables say 30 in for steel.
    assert_eq!(support_spacing(inches(1.0), Metal::Steel).unwrap().stricter, None);
    let other = support_spacing(inches(0.25), Metal::Other).unwrap();
    assert_eq!((other.used.table, other.stricter), ("fuel-line table", None));
}

#[test]
fn sizes_between_rows_take_the_stricter_neighbour() {
    same(spacing(mm(4.75), Metal::Steel), 14.0); // the metric name of 3/16 in
    same(spacing(mm(6.0), Metal::Steel), 14.0); // below 1/4 in
    same(spacing(mm(8.0), Metal::Steel), 18.0);
    same(spacing(mm(10.0), Metal::Steel), 20.0);
    same(spacing(mm(60.0), Metal::Steel), 32.5);
    same(radius(mm(4.75), Metal::Steel), 21.0 / 32.0);
    same(radius(mm(6.0), Metal::Steel), 7.0 / 8.0);
    same(radius(mm(8.0), Metal::Steel), 9.0 / 8.0); // 0.0025 in over 5/16 in: that size
    same(radius(mm(10.0), Metal::Steel), 1.75);
    assert_eq!(support_spacing(mm(2.0), Metal::Steel), Err(LimitError::BelowTable));
}

#[test]
fn rows_of_the_bend_table_and_three_diameters_elsewhere() {
    // AC 43.13-1B Table 9-2, from memory.
    for (od, steel, aluminium) in [
        (0.1875, 21.0 / 32.0, 7.0 / 16.0),
        (0.25, 7.0 / 8.0, 9.0 / 16.0),
        (0.3125, 1.125, 0.75),
        (0.375, 1.0 + 5.0 / 16.0, 15.0 / 16.0),
        (0.5, 1.75, 1.25),
        (0.625, 2.0 + 3.0 / 16.0, 1.5),
        (0.75, 2.625, 1.75),
        (1.0, 3.5, 3.0),
    ] {
        same(radius(inches(od), Metal::Steel), steel);
        same(radius(inches(od), Metal::Aluminium), aluminium);
    }
    for (od, metal) in [(0.125, Metal::Steel), (0.1875, Metal::Other), (1.5, Metal::Steel)] {
        let limit = least_bend_radius(inches(od), metal).unwrap();
        same(limit.value.si() / 0.0254, 3.0 * od);
        assert_eq!((limit.table, limit.row, limit.cite.basis), ("three diameters", None, Basis::Published));
    }
    same(radius(inches(0.125), Metal::Aluminium), 0.375);
}

#[test]
fn margins() {
    same(support_margin(inches(0.1875), Metal::Steel, inches(11.0)).unwrap().ratio.si(), 14.0 / 11.0);
    same(bend_margin(inches(0.1875), Metal::Steel, inches(0.75)).unwrap().ratio.si(), 0.75 / (21.0 / 32.0));
    assert_eq!(
        support_margin(inches(0.1875), Metal::Steel, inches(0.0)).unwrap_err().to_string(),
        "the distance between supports must be above zero"
    );
    assert_eq!(
        bend_margin(inches(0.1875), Metal::Steel, inches(f64::NAN)),
        Err(LimitError::OutOfRange("bend radius"))
    );
    assert_eq!(
        least_bend_radius(inches(-1.0), Metal::Other),
        Err(LimitError::OutOfRange("outside diameter"))
    );
}
