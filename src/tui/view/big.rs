use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::text::Line;
use tui_big_text::{BigText, PixelSize};

/// Draws a word or two from the left of the area, in letters four rows high, and returns the rows used. Each letter is half as wide as a
/// letter of a key's name, so that fourteen letters fit into the narrowest window.
pub(super) fn words(frame: &mut Frame, area: Rect, text: &str, style: Style) -> u16 {
    let (height, cell) = (4, 4);
    let width = (text.chars().count() as u16 * cell).min(area.width);
    let place = Rect { width, height: height.min(area.height), ..area };
    let letters = BigText::builder()
        .pixel_size(PixelSize::Quadrant)
        .style(style)
        .lines(vec![Line::from(text.to_owned())])
        .build();
    frame.render_widget(letters, place);
    height
}

/// Draws text at the top of the area, centred, in letters eight rows high where the area has at least eleven rows, else four, and
/// returns the rows used.
pub(super) fn draw(frame: &mut Frame, area: Rect, text: &str, style: Style) -> u16 {
    let (size, height, cell) = if area.height >= 11 { (PixelSize::Full, 8, 8) } else { (PixelSize::HalfHeight, 4, 8) };
    let width = (text.chars().count() as u16 * cell).min(area.width);
    let place = Rect { x: area.x + (area.width - width) / 2, y: area.y, width, height: height.min(area.height) };
    let letters = BigText::builder().pixel_size(size).style(style).lines(vec![Line::from(text.to_owned())]).build();
    frame.render_widget(letters, place);
    height
}
