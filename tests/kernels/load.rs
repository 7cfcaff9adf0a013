use asfound::circuit::Types;
use asfound::load::{SHIPPED_TYPES, normal, relative, shipped_types};
use asfound::source::FileId;
use asfound::syntax::document;

#[test]
fn paths_are_relative_to_the_document_that_names_them() {
    assert_eq!(relative("jobs/0412.amp", "../spec/a.amp"), "spec/a.amp");
    assert_eq!(relative("a.amp", "b.amp"), "b.amp");
    assert_eq!(relative("/x/y/a.amp", "./b.amp"), "/x/y/b.amp");
    assert_eq!(normal("../a.amp"), "../a.amp");
}

/// Each type read by itself, by each of its names, is what the whole texts state.
#[test]
fn types_on_demand_are_the_types_of_the_texts() {
    let (mut whole, mut problems) = (Types::default(), Vec::new());
    for (at, (_, text)) in SHIPPED_TYPES.iter().enumerate() {
        let (document, mut read) = document::parse(FileId(at as u32), text);
        whole.take(&document, &mut read);
        problems.append(&mut read);
    }
    assert!(problems.is_empty(), "{problems:?}");
    assert!(whole.names().count() > 40);
    assert!(whole.names().eq(shipped_types().names()));
    for name in whole.names() {
        let of = |types: &Types| format!("{:?} {:?}", types.tube(name), types.diode(name));
        assert_eq!(of(&whole), of(&shipped_types()), "{name}");
    }
}

#[test]
fn shipped_types_have_models() {
    let types = shipped_types();
    for name in ["ECC83", "12AX7", "6L6GC", "EL34", "GZ34", "6V6GT"] {
        assert!(types.tube(name).is_some_and(|t| t.model.is_some()), "{name}");
    }
    assert!(types.diode("1N4007").is_some());
}
