//! A small image as inline SVG, shape by shape; escaped by the XML writer.

use std::fmt::Display;

use quick_xml::Writer;
use quick_xml::events::{BytesEnd, BytesStart, BytesText, Event};

/// Attributes of a shape, in their order.
pub(super) type Attributes<'a> = &'a [(&'a str, &'a dyn Display)];

/// An image that is being drawn.
pub(super) struct Image(Writer<Vec<u8>>);

impl Image {
    /// An empty image of this width and height, in pixels; `said` is what a screen reader says.
    pub fn new(class: Option<&str>, said: &str, (width, height): (f64, f64)) -> Self {
        let mut image = Self(Writer::new(Vec::new()));
        let mut svg = BytesStart::new("svg");
        svg.extend_attributes(class.map(|class| ("class", class)));
        svg.extend_attributes([("role", "img"), ("aria-label", said)]);
        push(&mut svg, &[("width", &width), ("height", &height)]);
        push(&mut svg, &[("viewBox", &format_args!("0 0 {width} {height}"))]);
        image.put(Event::Start(svg));
        image
    }

    /// Adds a shape.
    pub fn shape(&mut self, name: &str, attributes: Attributes<'_>) {
        let mut shape = BytesStart::new(name);
        push(&mut shape, attributes);
        self.put(Event::Empty(shape));
    }

    /// Adds a text.
    pub fn text(&mut self, attributes: Attributes<'_>, text: &str) {
        let mut element = BytesStart::new("text");
        push(&mut element, attributes);
        self.put(Event::Start(element));
        self.put(Event::Text(BytesText::new(text)));
        self.put(Event::End(BytesEnd::new("text")));
    }

    /// The whole image.
    pub fn end(mut self) -> String {
        self.put(Event::End(BytesEnd::new("svg")));
        String::from_utf8(self.0.into_inner()).unwrap_or_default()
    }

    /// Writing to memory does not fail.
    fn put(&mut self, event: Event<'_>) {
        let _ = self.0.write_event(event);
    }
}

fn push(element: &mut BytesStart<'_>, attributes: Attributes<'_>) {
    for (name, value) in attributes {
        element.push_attribute((*name, value.to_string().as_str()));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_is_escaped() {
        let mut image = Image::new(None, "a \"b\" <c>", (2.0, 1.5));
        image.shape("rect", &[("x", &0.5)]);
        image.text(&[("y", &format_args!("{:.1}", 1.0))], "1 < 2 & 3");
        assert_eq!(
            image.end(),
            "<svg role=\"img\" aria-label=\"a &quot;b&quot; &lt;c&gt;\" width=\"2\" height=\"1.5\" \
             viewBox=\"0 0 2 1.5\"><rect x=\"0.5\"/><text y=\"1.0\">1 &lt; 2 &amp; 3</text></svg>"
        );
    }
}
