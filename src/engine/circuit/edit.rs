//! Changes written into the owner's own file, comments and layout kept.

use super::changes::Change;
use super::controls::Setting;
use super::diagnostics::Diagnostic;
use super::write::own_value;
use super::{Circuit, PartId, PartKind, read};
use crate::device::Catalogue;
use toml_edit::{DocumentMut, Item, Value};

/// The file with changes and settings of its circuit made in it. Values are written in canonical notation;
/// everything else stays as it was.
///
/// # Errors
/// The faults of the file, or of the changes.
pub fn edit(
    text: &str,
    changes: &[Change],
    settings: &[Setting],
    catalogue: &Catalogue,
) -> Result<String, Vec<Diagnostic>> {
    let before = read(text, catalogue)?;
    let after = before.with_changes(changes)?.with_controls(settings)?;
    let mut document: DocumentMut = text.parse().map_err(|_| {
        vec![Diagnostic::error(
            "the file could be read but not edited",
            "write its parts as plain tables",
        )]
    })?;
    write_differences(&mut document, &before, &after);
    let edited = document.to_string();
    debug_assert!(
        read(&edited, catalogue).is_ok_and(|again| again.same_but_for_lines(&after)),
        "an edited file must read as the changed circuit"
    );
    Ok(edited)
}

fn write_differences(document: &mut DocumentMut, before: &Circuit, after: &Circuit) {
    let Some(parts) = document.get_mut("parts").and_then(Item::as_table_like_mut) else {
        return;
    };
    for (index, (old, new)) in before.parts().iter().zip(after.parts()).enumerate() {
        let id = PartId(index as u16);
        let Some(part) = parts.get_mut(&new.designator) else {
            continue;
        };
        if own_value(&old.kind) != own_value(&new.kind)
            && let Some(value) = own_value(&new.kind)
        {
            replace(part, new.kind.kind().word(), &value);
        }
        if let (PartKind::Pot { set: old, .. }, PartKind::Pot { set: new, .. }) =
            (&old.kind, &new.kind)
            && (old != new || before.is_assumed(id, "set") != after.is_assumed(id, "set"))
        {
            replace(part, "set", &crate::units::Quantity::Share.format(*new));
        }
        if old.fitted != new.fitted {
            replace(part, "fitted", &new.fitted.to_string());
        }
    }
}

/// Puts a value in place of another, with the spaces and comments around it, or behind the last.
fn replace(part: &mut Item, key: &str, text: &str) {
    let mut value: Value = text.parse().expect("canonical notation is TOML");
    let Some(table) = part.as_table_like_mut() else {
        return;
    };
    if let Some(old) = table.get_mut(key).and_then(Item::as_value_mut) {
        *value.decor_mut() = old.decor().clone();
        *old = value;
        return;
    }
    if let Some(inline) = part.as_inline_table_mut() {
        // The space before the closing brace belongs to the last value.
        if let Some((_, last)) = inline.iter_mut().last()
            && let Some(space) = last.decor().suffix().cloned()
        {
            last.decor_mut().set_suffix("");
            value.decor_mut().set_prefix(" ");
            value.decor_mut().set_suffix(space);
        }
        inline.insert(key, value);
    } else if let Some(table) = part.as_table_like_mut() {
        table.insert(key, Item::Value(value));
    }
}
