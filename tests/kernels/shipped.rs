use asfound::rules::{SHIPPED, as_built, read_anew};

/// What the tool carries along is what its reader finds in the texts now. That each compiles, its proof shows.
#[test]
fn the_table_of_shipped_rules_is_not_stale() {
    let (built, anew) = (as_built(), read_anew().expect("shipped rules have no problems"));
    assert_eq!((built.len(), anew.len()), (SHIPPED.len(), SHIPPED.len()));
    for (at, (path, _)) in SHIPPED.iter().enumerate() {
        assert_eq!(built[at], anew[at], "{path}");
    }
}
