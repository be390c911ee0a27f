//! The window takes other sizes, larger and smaller, by the format's own calls; no smaller than its least.

use crate::fixture::clap;
use crate::fixture::screen::{Parent, Pointer, Screen, on_a_screen, patiently};
use crate::fixture::vst3::{CLASSES, Instance};
use crate::fixture::vst3_view::View;

/// What a host wishes for, and what it gets: larger, smaller, below the least, larger again.
const SIZES: [([u32; 2], [u32; 2]); 4] = [
    ([1400, 900], [1400, 900]),
    ([950, 650], [950, 650]),
    ([300, 200], [900, 600]),
    ([1300, 850], [1300, 850]),
];

/// A place in the corner of the window at its last size.
const CORNER: [i16; 2] = [1293, 843];

/// Waits until the plugin's window has a size on the screen, and has drawn all of it.
fn fits(parent: &Parent, size: [u32; 2], serve: impl FnMut()) {
    let (width, height) = (size[0], size[1]);
    let there = patiently(serve, || {
        parent.child_size() == (width, height) && parent.drawn()
    });
    assert!(there, "{:?}, not {size:?}", parent.child_size());
}

#[test]
#[ignore = "needs a screen; run by the test below in a process of its own"]
fn takes_sizes() {
    let screen = Screen::new();
    let parent = screen.parent((0, 0), (1400, 900));
    parent.map();
    let instance = Instance::new(CLASSES[0]);
    let view = View::open(&instance, parent.id, true);
    for (wish, size) in SIZES {
        let given = view.resize(wish.map(|n| n as i32));
        assert_eq!(given, size.map(|n| n as i32));
        fits(&parent, size, || view.serve());
        assert_eq!(view.size(), given);
    }
    // The corner asks the host, for more and for less, and takes nothing before the host gives it.
    for to in [[1343, 873], [1093, 743]] {
        view.asked();
        parent.point(Pointer::Move, CORNER);
        parent.point(Pointer::Press, CORNER);
        // Frames may be slow: the pointer stays there until the window has seen it.
        let held = || {
            parent.point(Pointer::Move, to);
            view.serve();
        };
        let near = |size: [i32; 2]| (0..2).all(|n| (size[n] - i32::from(to[n])).abs() < 15);
        let asked = patiently(held, || view.asked().into_iter().any(near));
        parent.point(Pointer::Release, to);
        assert!(asked, "the corner asks for nothing near {to:?}");
        assert_eq!(parent.child_size(), (1300, 850));
    }
    view.close();
    let mut instance = clap::Instance::new(crate::fixture::CLASSES[0]);
    instance.open_window(parent.id);
    for (wish, size) in SIZES {
        assert_eq!(instance.resize_window(wish), size);
        fits(&parent, size, || ());
    }
    instance.close_window();
    println!("every size was taken");
}

#[test]
fn the_window_grows_and_shrinks_when_the_host_says() {
    if let Some(said) = on_a_screen("window_size::takes_sizes", &[]) {
        assert!(said.contains("every size was taken"), "{said}");
    }
}
