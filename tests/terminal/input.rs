//! What is pasted and clicked.

use super::session::Session;

#[test]
fn a_paste_is_no_command() {
    let mut session = Session::program(&[]);
    session.send("\u{1b}[200~q\rq\n\u{1b}[201~l");
    session.wait_for("leg 2 of 6");
    session.send("q");
    assert_eq!(session.ended(), 0);
}

#[test]
fn the_mouse_chooses_and_can_be_left_to_the_terminal() {
    let mut session = Session::program(&[]);
    let mode = |session: &Session| {
        session
            .shown
            .lock()
            .unwrap()
            .parser
            .screen()
            .mouse_protocol_mode()
    };
    assert_ne!(mode(&session), vt100::MouseProtocolMode::None);
    // Button 0 at column 80, row 10, in SGR form.
    session.send("\u{1b}[<0;80;10M\u{1b}[<0;80;10m");
    session.wait_for("leg 6 of 6");
    session.send("m");
    session.wait_until("mouse", |shown| {
        shown.parser.screen().mouse_protocol_mode() == vt100::MouseProtocolMode::None
    });
}
