//! The grammar's rules in words that a reader of messages knows.

use super::grammar::Rule;

/// The keyword that a rule stands for, if it stands for one.
pub(super) fn keyword_of(rule: Rule) -> Option<&'static str> {
    Some(match rule {
        Rule::k_from | Rule::from_to => "from",
        Rule::k_to => "to",
        Rule::k_at | Rule::at => "at",
        Rule::k_with | Rule::with_wire | Rule::with_meter => "with",
        Rule::k_wire => "wire",
        Rule::k_joins => "joins",
        Rule::k_feeds => "feeds",
        Rule::k_leaving => "leaving",
        Rule::k_on | Rule::on => "on",
        Rule::k_because | Rule::because => "because",
        Rule::k_circuit => "circuit",
        Rule::k_phase => "phase",
        Rule::k_side => "side",
        Rule::k_series => "series",
        Rule::k_parallel => "parallel",
        Rule::k_by | Rule::by_several => "by",
        Rule::k_in | Rule::in_circuit | Rule::in_group | Rule::in_condition | Rule::in_phase => "in",
        Rule::k_limits | Rule::limits => "limits",
        Rule::k_behind | Rule::behind => "behind",
        Rule::k_through | Rule::through => "through",
        Rule::k_reference | Rule::reference => "reference",
        Rule::k_window | Rule::window => "window",
        Rule::k_all => "all",
        Rule::k_except => "except",
        Rule::k_snipped => "snipped",
        Rule::k_pinned => "pinned",
        Rule::k_ac => "ac",
        Rule::k_also | Rule::also => "also",
        Rule::k_base | Rule::base => "base",
        Rule::k_ganged | Rule::ganged => "ganged",
        Rule::k_plates | Rule::plates => "plates",
        Rule::k_taps | Rule::taps | Rule::winding_taps => "taps",
        Rule::k_tap | Rule::tap => "tap",
        Rule::k_primary | Rule::primary => "primary",
        Rule::k_unloaded | Rule::unloaded => "unloaded",
        Rule::k_steady => "steady",
        Rule::k_two_core => "two-core",
        Rule::k_current | Rule::current => "current",
        Rule::k_positions | Rule::positions => "positions",
        Rule::k_now | Rule::now => "now",
        Rule::k_normals | Rule::normals => "normals",
        Rule::k_made | Rule::made => "made",
        Rule::k_unknown => "unknown",
        _ => return None,
    })
}

/// A rule in words, for "… comes next"; empty for what needs no saying.
pub(super) fn rule_words(rule: Rule) -> String {
    if let Some(word) = keyword_of(rule) {
        return format!("`{word}`");
    }
    match rule {
        Rule::name => "a name",
        Rule::place => "a place",
        Rule::quantity => "a value",
        Rule::range => "a lowest value",
        Rule::string | Rule::group => "a quoted text",
        Rule::word | Rule::any_word | Rule::bare => "a word",
        Rule::position => "a position's name",
        Rule::type_name => "a type's name",
        Rule::kind | Rule::part_added => "a kind of part",
        Rule::construction => "a construction",
        Rule::fingerprint => "a fingerprint of 16 hexadecimal digits",
        Rule::preposition => "`of` with the document beneath",
        Rule::protection_class => "`class-I` or `class-II`",
        Rule::leg | Rule::leg_word | Rule::winding_leg | Rule::winding_end => "a leg",
        Rule::tap_leg => "a tap",
        Rule::pin | Rule::key | Rule::named_value => "a named value",
        Rule::body => "the name of a part",
        Rule::comma => "`,`",
        Rule::winding_tap => "a tap's name",
        Rule::document_kind => "a kind of document",
        _ => "",
    }
    .to_owned()
}
