//! Text that is typed into a number: which keys of a frame belong to it, and what becomes of it.
//!
//! A slow frame brings several keys at once, so nothing here counts frames: the field has the
//! keyboard in the frame of the key that opens it, keys before that key belong to the number, and
//! keys behind the one that closes it wait for the next frame.

use crate::live::{Adjustable, Refusal};
use egui::{Event, Key, Rect};

/// Text that is being typed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Typing {
    /// The text.
    pub text: String,
    /// What is wrong with it, once it was refused.
    pub fault: Option<String>,
    /// Whether it had the keyboard when it was drawn last.
    pub held: bool,
    /// Number of the pass in which it was drawn last; none before the first.
    pub drawn: Option<u64>,
}

/// The keys of a frame that belong to a number that has the keyboard.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Keys {
    /// Steps up less steps down, by arrow keys.
    pub steps: f32,
    /// Whether the old value is wanted back.
    pub escape: bool,
    /// What opens the field.
    pub opens: Option<Opens>,
}

/// What opens a field.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Opens {
    /// A key that writes: the text begins with it.
    Empty,
    /// Enter or F2: the text begins with the value as it is.
    WithValue,
}

/// Takes the keys of the number in `rect` out of a frame's events, up to the one that opens its
/// field; the field finds the others there.
pub fn take_keys(events: &mut Vec<Event>, rect: Rect, command: bool) -> Keys {
    let mut keys = Keys::default();
    let mut all = std::mem::take(events).into_iter();
    for event in all.by_ref() {
        let mut stays = true;
        match &event {
            // What follows is for what gets the keyboard next.
            event if leaves(event, rect) => {
                events.push(event.clone());
                break;
            }
            Event::Key {
                key, pressed: true, ..
            } => {
                stays = false;
                match key {
                    Key::ArrowUp => keys.steps += 1.0,
                    Key::ArrowDown => keys.steps -= 1.0,
                    Key::Escape => keys.escape = true,
                    // The field must not see it: there it would close it.
                    Key::Enter | Key::F2 => keys.opens = Some(Opens::WithValue),
                    _ => stays = true,
                }
            }
            Event::Text(text) if !command && !text.trim().is_empty() => {
                keys.opens = Some(Opens::Empty);
            }
            Event::Paste(_) => keys.opens = Some(Opens::Empty),
            _ => {}
        }
        if stays {
            events.push(event);
        }
        if keys.opens.is_some() || keys.escape {
            break;
        }
    }
    events.extend(all);
    keys
}

/// Takes what is typed behind the last press of a button out of a frame's events.
pub fn take_behind_press(events: &mut Vec<Event>) -> Vec<Event> {
    let press = |event: &Event| matches!(event, Event::PointerButton { .. });
    let from = events.iter().rposition(press).map_or(0, |at| at + 1);
    take_typed(events, from)
}

/// Whether the keyboard leaves what is in `rect` with an event.
fn leaves(event: &Event, rect: Rect) -> bool {
    match event {
        Event::Key {
            key: Key::Tab,
            pressed: true,
            ..
        } => true,
        Event::PointerButton {
            pos, pressed: true, ..
        } => !rect.contains(*pos),
        _ => false,
    }
}

/// Takes what is typed behind the first Enter out of a frame's events: it belongs to what has the
/// keyboard next.
pub fn take_late(events: &mut Vec<Event>) -> Vec<Event> {
    let Some(enter) = events.iter().position(is_enter) else {
        return Vec::new();
    };
    take_typed(events, enter + 1)
}

/// Takes what is typed behind the event with which the keyboard leaves what is in `rect`.
pub fn take_behind_leaving(events: &mut Vec<Event>, rect: Rect) -> Vec<Event> {
    let leaving = events.iter().position(|event| leaves(event, rect));
    let from = leaving.map_or(events.len(), |at| at + 1);
    take_typed(events, from)
}

/// Takes what is typed from one event on.
fn take_typed(events: &mut Vec<Event>, from: usize) -> Vec<Event> {
    let behind = events.split_off(from);
    let typed = |event: &Event| {
        matches!(
            event,
            Event::Text(_) | Event::Paste(_) | Event::Key { pressed: true, .. }
        )
    };
    let (typed, other): (Vec<Event>, Vec<Event>) = behind.into_iter().partition(typed);
    events.extend(other);
    typed
}

fn is_enter(event: &Event) -> bool {
    matches!(
        event,
        Event::Key {
            key: Key::Enter,
            pressed: true,
            ..
        }
    )
}

/// Writes what was typed in this frame before the keyboard went elsewhere, by Tab or by a press
/// outside `rect`: in such a frame egui gives keys to nobody. Whether there was anything. Takes it
/// out of the events.
pub fn write_before_leaving(events: &mut Vec<Event>, rect: Rect, text: &mut String) -> bool {
    let end = events.iter().position(|event| leaves(event, rect));
    let behind = events.split_off(end.map_or(events.len(), |end| end + 1));
    let mut any = false;
    for event in events.iter() {
        match event {
            Event::Text(typed) | Event::Paste(typed) => {
                text.push_str(typed);
                any |= !typed.trim().is_empty();
            }
            Event::Key {
                key: Key::Backspace,
                pressed: true,
                ..
            } => {
                text.pop();
            }
            _ => {}
        }
    }
    *events = behind;
    any
}

/// The number that a text stands for.
///
/// # Errors
/// What is wrong with it, in a sentence; a value outside the range is never taken for its end.
pub fn read(adjustable: &Adjustable, text: &str) -> Result<f64, String> {
    adjustable
        .read(text)
        .map_err(|refusal| told(adjustable, text.trim(), &refusal))
}

/// What is wrong with a text.
fn told(adjustable: &Adjustable, text: &str, refusal: &Refusal) -> String {
    let name = &adjustable.designator;
    match refusal {
        Refusal::Notation(fault) => {
            let remedy = fault.remedy();
            format!("“{text}” {fault}; {remedy}. Escape gives the old value back.")
        }
        Refusal::Meaningless => {
            format!("“{text}” means nothing here. Escape gives the old value back.")
        }
        Refusal::Outside { low, high } => {
            let [low, high] = [low, high].map(|&end| adjustable.text(end));
            format!(
                "“{text}” is out of range: {name} takes {low} to {high}. \
                 Escape gives the old value back."
            )
        }
    }
}
