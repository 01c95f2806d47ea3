//! The forms that name files from which a change is proposed.

use super::super::form::{Form, FormField, Objection, Purpose};
use super::super::line::TypedLine;
use super::super::outside::FromFiles;
use super::super::state::{Mode, State};

const MAP: &str = "map";
const HEIGHTS: &str = "heights";
const SPLIT: &str = "split";
const FILE: &str = "file";

/// Opens the form for map files, with those that the user prefers.
pub(super) fn ask_for_map(state: &mut State) {
    let [map, heights] = &state.map_files;
    let mut fields = vec![
        FormField::text(MAP, "map").with_hint("an .osm.pbf file or a folder of them; empty: none"),
        FormField::text(HEIGHTS, "heights")
            .with_hint("a folder of elevation tiles, .hgt or .tif; empty: none"),
        FormField::no_or_yes(SPLIT, "split legs", false)
            .with_hint("yes: split legs where the surface changes"),
    ];
    fields[0].line = TypedLine::new(map.clone());
    fields[1].line = TypedLine::new(heights.clone());
    let title = "surfaces, fuel stops and climb from map files";
    open(state, Form::new(Purpose::Map, title, fields));
}

/// Opens the form for a fill-up log.
pub(super) fn ask_for_log(state: &mut State) {
    let field = FormField::text(FILE, "fill-up log")
        .with_hint("a CSV file with date, odometer and litres of each fill-up");
    let title = "calibrate the consumption with a fill-up log";
    open(state, Form::new(Purpose::FillLog, title, vec![field]));
}

/// Opens the form for the vehicle of another trip.
pub(super) fn ask_for_vehicle(state: &mut State) {
    let field = FormField::text(FILE, "trip file")
        .with_hint("its vehicle, load and rules replace those of this trip");
    let title = "vehicle, load and rules of another trip";
    open(state, Form::new(Purpose::Vehicle, title, vec![field]));
}

/// Opens the form for other legs.
pub(super) fn ask_for_route(state: &mut State) {
    let field = FormField::text(FILE, "files")
        .with_hint("GPX, GeoJSON or a CSV leg table; separate several with ;");
    let title = match state.trip().log().last() {
        None => "other legs from files".to_owned(),
        Some(last) => {
            let place = state.trip().place(last.place_number as usize).name;
            format!("other legs from {place} on, from files")
        }
    };
    open(state, Form::new(Purpose::Route, title, vec![field]));
}

fn open(state: &mut State, form: Form) {
    state.form = Some(form);
    state.mode = Mode::Form;
}

/// What the filled form names; what is missing becomes its objection.
pub(super) fn named(form: &mut Form) -> Option<FromFiles> {
    let file = form.text(FILE).to_owned();
    let from = match form.purpose {
        Purpose::Map => {
            let [map, heights] = [MAP, HEIGHTS].map(|key| form.text(key).to_owned());
            if map.is_empty() && heights.is_empty() {
                let message = "name a map, a folder of elevation tiles, or both".to_owned();
                form.object(MAP, Objection::Wrong(message));
                return None;
            }
            return Some(FromFiles::Map {
                map,
                heights,
                is_split: form.is_yes(SPLIT),
            });
        }
        Purpose::FillLog => FromFiles::FillLog(file.clone()),
        Purpose::Vehicle => FromFiles::Vehicle(file.clone()),
        _ => FromFiles::Route(file.clone()),
    };
    if file.is_empty() {
        form.object(FILE, Objection::Wrong("type the path of a file".to_owned()));
        return None;
    }
    Some(from)
}
