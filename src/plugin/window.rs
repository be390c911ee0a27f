//! The editor in a host's window.

use super::answers::{Answers, Drawn};
use super::asking::Wish;
use super::closing::{Opening, WindowEditor};
use super::params::AmpParams;
use super::player::Controls;
use super::state::proposed_value;
use crate::circuit::Diagnostic;
use crate::editor::edit::{Edit, Player, PluginSetting, RecordingPlayer};
use crate::live::NotLoaded;
use crate::live::jack_guitar::OwnGuitar;
use crate::live::meters::Meters;
use crate::live::parameter_map::ParameterMap;
use crate::sound::impulse::Impulse;
use nice_plug::context::gui::GuiContext;
use nice_plug::editor::SizeConstraints;
use nice_plug::editor::dpi::LogicalSize;
use nice_plug::prelude::*;
use nice_plug_egui::resizable_window::paint_resize_corner;
use nice_plug_egui::{EguiEditorState, EguiNiceSettings, NiceEguiApp};
use std::path::Path;
use std::sync::Arc;

/// Smallest window, logical pixels.
const LEAST: (f32, f32) = (900.0, 600.0);

/// The editor and its way to the host.
pub struct Window {
    editor: crate::editor::Editor,
    params: Arc<AmpParams>,
    player: Arc<Controls>,
    opening: Opening,
    wish: Wish,
    drawn: Drawn,
    host: Option<GuiContext>,
    /// The window has been asked for the size that the project remembers.
    settled: bool,
    /// Its corner is held by the pointer.
    held: bool,
}

impl Window {
    /// The framework's editor for an instance.
    pub fn editor(params: Arc<AmpParams>, player: Arc<Controls>) -> Option<WindowEditor<Window>> {
        let (width, height) = params.instance.window_size();
        let size = LogicalSize::new(f64::from(width), f64::from(height));
        let opening = Opening::default();
        let wish = Wish::default();
        let window = Window {
            editor: crate::editor::Editor::new(),
            opening: opening.clone(),
            wish: wish.clone(),
            drawn: Drawn::default(),
            params,
            player,
            host: None,
            settled: false,
            held: false,
        };
        let resize = ResizeHint {
            can_resize: true,
            can_resize_horizontally: true,
            can_resize_vertically: true,
            size_constraints: SizeConstraints::Logical {
                min_size: Some(LogicalSize::new(LEAST.0, LEAST.1)),
                max_size: None,
            },
            ..ResizeHint::default()
        };
        let settings = EguiNiceSettings::new()
            .with_tile("Presolder")
            .with_resize_hint(resize);
        let editor = nice_plug_egui::create_egui_editor(
            EguiEditorState::from_size(size, 1.0),
            nice_plug_egui::RepaintNotifier::new(),
            settings,
            window,
        )?;
        Some(WindowEditor::new(editor, opening, wish))
    }

    /// What keeps the window drawing, where windows need that.
    #[cfg(target_os = "linux")]
    fn answers(&self, frame: &nice_plug_egui::Frame) -> Option<Answers> {
        use raw_window_handle::{HasWindowHandle, RawWindowHandle};
        let window = frame.baseview_window();
        let number = match window.window_handle().ok()?.as_raw() {
            RawWindowHandle::Xlib(handle) => u32::try_from(handle.window).ok()?,
            RawWindowHandle::Xcb(handle) => handle.window.get(),
            _ => return None,
        };
        let waker = window.waker();
        let redraw = move || waker.request_redraw();
        Some(Answers::of(number, self.drawn.clone(), redraw))
    }

    /// What keeps the window drawing, where windows need that.
    #[cfg(not(target_os = "linux"))]
    fn answers(&self, _: &nice_plug_egui::Frame) -> Option<Answers> {
        None
    }

    /// Asks for the size that the project remembers, once a window has opened.
    fn settle(&mut self, ui: &egui::Ui) {
        let (width, height) = self.params.instance.window_size();
        let wanted = egui::vec2(width, height) / ui.ctx().zoom_factor();
        let now = ui.ctx().content_rect();
        if !std::mem::replace(&mut self.settled, true)
            && (now.size() - wanted).abs().max_elem() > 1.0
        {
            resize(ui, wanted, &self.wish);
        }
    }
}

/// Asks for another size, points: the host, if there is one that must be asked.
fn resize(ui: &egui::Ui, size: egui::Vec2, wish: &Wish) {
    let logical = size * ui.ctx().zoom_factor();
    let logical = LogicalSize::new(f64::from(logical.x), f64::from(logical.y));
    let scale = ui.ctx().native_pixels_per_point().unwrap_or(1.0);
    if !wish.ask(logical.into(), f64::from(scale)) {
        let command = egui::ViewportCommand::InnerSize(size);
        ui.ctx().send_viewport_cmd(command);
    }
}

/// Lets the lower right corner be dragged, since not every host has a frame of its own; `held` says
/// whether it is. It lies above all panels: beneath them it would be neither seen nor reached. Where it
/// was pressed counts, not where the pointer is in that frame: frames may be slower than hands.
fn corner(ui: &egui::Ui, wish: &Wish, held: &mut bool) {
    let now = ui.ctx().content_rect();
    let area = egui::Area::new(egui::Id::unique("window corner"))
        .order(egui::Order::Foreground)
        .fixed_pos(now.max - egui::Vec2::splat(CORNER))
        .constrain(false);
    let shown = area.show(ui.ctx(), |ui| {
        let (_, handle) = ui.allocate_exact_size(egui::Vec2::splat(CORNER), egui::Sense::drag());
        paint_resize_corner(ui, &handle);
        handle.on_hover_cursor(egui::CursorIcon::ResizeNwSe).rect
    });
    let (origin, pointer, down) = ui.input(|input| {
        let pointer = &input.pointer;
        (
            pointer.press_origin(),
            pointer.latest_pos(),
            pointer.primary_down(),
        )
    });
    *held |= down && origin.is_some_and(|origin| shown.inner.contains(origin));
    if *held && let Some(pointer) = pointer {
        let least = egui::vec2(LEAST.0, LEAST.1) / ui.ctx().zoom_factor();
        let wanted = (pointer - now.min + egui::Vec2::splat(0.5 * CORNER)).max(least);
        if (wanted - now.size()).abs().max_elem() > 0.5 {
            resize(ui, wanted, wish);
        }
    }
    *held &= down;
}

/// Side of the corner that resizes the window, points.
const CORNER: f32 = 14.0;

impl NiceEguiApp for Window {
    fn build(
        &mut self,
        _: egui::Context,
        host: GuiContext,
        frame: &mut nice_plug_egui::Frame,
    ) -> Result<(), nice_plug_egui::baseview::HandlerError> {
        self.host = Some(host);
        (self.settled, self.held) = (false, false);
        self.opening.on_its_thread(self.answers(frame));
        super::launch::opened();
        Ok(())
    }

    fn ui(&mut self, ui: &mut egui::Ui, _: &mut nice_plug_egui::Frame) {
        self.drawn.count();
        self.settle(ui);
        let Some(host) = &self.host else { return };
        let edit = HostEdit {
            params: &self.params,
            player: &self.player,
            host,
        };
        self.editor.ui(ui, &edit);
        corner(ui, &self.wish, &mut self.held);
    }

    fn resized(&mut self, size: nice_plug_egui::baseview::WindowSize) {
        let (width, height) = (size.logical.width as f32, size.logical.height as f32);
        self.params.instance.set_window_size(width, height);
    }

    fn editor_closed(&mut self) {
        self.settled = false;
        self.host = None;
    }
}

/// Edits through the host, so that it can record and undo them.
struct HostEdit<'a> {
    params: &'a AmpParams,
    player: &'a Controls,
    host: &'a GuiContext,
}

impl HostEdit<'_> {
    fn parameter_map(&self) -> Arc<ParameterMap> {
        self.params.instance.parameter_map()
    }

    /// Tells the host that there is something to save besides parameters.
    fn revise(&self) {
        let (_, most) = PluginSetting::Revision.row().range();
        let next = (self.setting(PluginSetting::Revision) + 1.0) % (f64::from(most) + 1.0);
        self.set_setting(PluginSetting::Revision, next);
    }

    fn place(&self, parameter: usize, place: f32) {
        self.params.adjustables[parameter].set_position(&self.host.param_setter(), place);
    }

    fn begin_place(&self, parameter: usize) {
        self.params.adjustables[parameter].begin(&self.host.param_setter());
    }

    fn end_place(&self, parameter: usize) {
        self.params.adjustables[parameter].end(&self.host.param_setter());
    }
}

impl Edit for HostEdit<'_> {
    fn amp(&self) -> Arc<crate::live::LiveAmp> {
        // While it is active, the thread beside it does that.
        if self.params.instance.format().is_none() {
            self.params.instance.plug_in(self.params.guitar());
        }
        self.parameter_map().shared_amp()
    }

    fn proposed(&self, adjustable: usize) -> f64 {
        proposed_value(self.params, &self.parameter_map(), adjustable)
    }

    fn begin(&self, adjustable: usize) {
        if let Some(parameter) = self.parameter_map().parameter_of(adjustable) {
            self.begin_place(parameter);
        }
    }

    fn set(&self, adjustable: usize, value: f64) {
        let map = self.parameter_map();
        let Some(parameter) = map.parameter_of(adjustable) else {
            map.set_loose(adjustable, value);
            return;
        };
        let Some(binding) = map.binding(parameter) else {
            return;
        };
        let place = match binding.fitted {
            // One parameter for value and presence: out is its lowest place.
            Some(fitted) if fitted == adjustable && value < 0.5 => Some(ParameterMap::OUT),
            Some(fitted) if fitted == adjustable => {
                let place = self.params.adjustables[parameter].position();
                let known = map.value_at(parameter, place).map(|(value, _)| value);
                known.and_then(|value| map.remember(parameter, value))
            }
            _ => map.remember(parameter, value),
        };
        if let Some(place) = place {
            self.place(parameter, place);
        }
    }

    fn end(&self, adjustable: usize) {
        match self.parameter_map().parameter_of(adjustable) {
            Some(parameter) => self.end_place(parameter),
            None => self.revise(),
        }
    }

    fn set_as_found(&self, adjustable: usize, value: f64) {
        self.parameter_map().set_as_found(adjustable, value);
        self.revise();
    }

    fn setting(&self, setting: PluginSetting) -> f64 {
        self.params.setting(setting)
    }

    fn set_setting(&self, setting: PluginSetting, value: f64) {
        let (least, most) = setting.row().range();
        let value = value.clamp(f64::from(least), f64::from(most));
        let (param, setter) = (self.params.of(setting), self.host.param_setter());
        param.begin(&setter);
        param.set_value(&setter, value);
        param.end(&setter);
    }

    fn impulse(&self) -> Option<Arc<Impulse>> {
        self.params.instance.response().impulse()
    }

    fn set_impulse(&self, impulse: Option<Arc<Impulse>>) {
        self.params.instance.put_impulse(impulse);
        self.revise();
    }

    fn own_guitar(&self) -> Option<OwnGuitar> {
        self.params.instance.jack().own()
    }

    fn set_own_guitar(&self, own: Option<OwnGuitar>) {
        self.params.instance.put_guitar(own);
        self.revise();
    }

    fn meters(&self) -> &Meters {
        self.params.instance.meters()
    }

    fn rate(&self) -> Option<f64> {
        self.params.instance.format().map(|format| format.rate)
    }

    fn take_heard(&self, heard: &mut Vec<f32>) {
        self.params.instance.take_heard(heard);
    }

    fn load(&self, bytes: &[u8], path: Option<&Path>) -> Result<(), Vec<Diagnostic>> {
        let instance = &self.params.instance;
        let map = instance.map_for(bytes, path).map_err(|why| match why {
            NotLoaded::Faulty(faults) => faults,
            NotLoaded::NoOperatingPoint(message) => vec![Diagnostic::error(
                message,
                "check the values of the parts around it",
            )],
        })?;
        map.set_stepped(self.params.stepped());
        let places: Vec<f32> = (0..self.params.adjustables.len())
            .map(|parameter| map.default_position(parameter))
            .collect();
        for (parameter, &place) in places.iter().enumerate() {
            instance.note_position(parameter, place);
        }
        if let Some(note) = super::slots::without_slot(&map) {
            instance.set_notes(vec![note]);
        }
        instance.put(map);
        for (parameter, &place) in places.iter().enumerate() {
            self.begin_place(parameter);
            self.place(parameter, place);
            self.end_place(parameter);
        }
        self.revise();
        instance.tell();
        Ok(())
    }

    fn may_load(&self) -> Result<(), &'static str> {
        match self.params.instance.class().own {
            true => Ok(()),
            false => Err(
                "This plugin is one built-in amp, so that a host can show its parts by name. \
                 Insert \"Presolder Own Amp\" to load a file of your own.",
            ),
        }
    }

    fn view(&self) -> String {
        self.params.instance.view()
    }

    fn set_view(&self, view: String) {
        self.params.instance.set_view(view);
    }

    fn notes(&self) -> Vec<String> {
        self.params.instance.notes()
    }

    fn dismiss_notes(&self) {
        self.params.instance.set_notes(Vec::new());
    }

    fn recording(&self) -> Option<&dyn RecordingPlayer> {
        Some(self.player)
    }

    fn player(&self) -> Option<&dyn Player> {
        self.player.active().then_some(self.player as &dyn Player)
    }
}
