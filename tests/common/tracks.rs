//! Invented tracks for the tests, in mid-ocean.

use std::io::{self, Write};

/// Writes a GPX 1.1 track of `points` points in one segment, as a receiver records it: a point every
/// 7 m or so, winding, with heights and time stamps. The line is invented and lies in mid-ocean.
pub fn write_track(out: impl Write, points: u32) -> io::Result<()> {
    let mut out = io::BufWriter::new(out);
    writeln!(
        out,
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<gpx version=\"1.1\" creator=\"drystage test\" xmlns=\"http://www.topografix.com/GPX/1/1\">\n<trk><name>Invented</name><trkseg>"
    )?;
    for n in 0..points {
        let [lat, lon, height] = track_point(n);
        let (hour, minute, second) = (n / 3600 % 24, n / 60 % 60, n % 60);
        writeln!(
            out,
            "<trkpt lat=\"{lat:.7}\" lon=\"{lon:.7}\"><ele>{height:.1}</ele><time>2020-01-01T{hour:02}:{minute:02}:{second:02}Z</time></trkpt>"
        )?;
    }
    writeln!(out, "</trkseg></trk></gpx>")?;
    out.flush()
}

/// Latitude, longitude and height of one point of that track.
fn track_point(n: u32) -> [f64; 3] {
    let way = f64::from(n);
    [
        -48.2 - 2e-5 * way.rem_euclid(200_000.0) + 3e-4 * (way / 90.0).sin(),
        -130.4 + 6e-5 * way / (1.0 + way / 1e6) + 4e-4 * (way / 70.0).cos(),
        1850.0 + 400.0 * (way / 4000.0).sin() + 1.5 * (way / 3.0).sin(),
    ]
}
