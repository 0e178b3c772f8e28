//! Pixels as a PNG file.

use super::shaded::Picture;
use crate::mark::MARK;
use thiserror::Error;

/// The writer refused.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("the PNG writer refused: {0}")]
pub struct PngError(String);

/// Longest title that is written, letters.
const TITLE_LETTERS: usize = 200;

/// Writes a picture; `title` says what is to be seen, for programs that read it out.
///
/// # Errors
/// When the writer refuses.
pub fn png(picture: &Picture, title: &str) -> Result<Vec<u8>, PngError> {
    let refused = |error: png::EncodingError| PngError(error.to_string());
    let [wide, high] = picture.size_px;
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, wide, high);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_compression(png::Compression::Balanced);
    let shown: String = title
        .chars()
        .filter(|letter| !letter.is_control())
        .take(TITLE_LETTERS)
        .collect();
    encoder
        .add_text_chunk("Software".to_owned(), MARK.to_owned())
        .map_err(refused)?;
    encoder
        .add_itxt_chunk("Title".to_owned(), shown)
        .map_err(refused)?;
    let mut writer = encoder.write_header().map_err(refused)?;
    writer.write_image_data(&picture.rgb).map_err(refused)?;
    writer.finish().map_err(refused)?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn any_title_can_be_written_and_read_back_and_the_mark_stands_first() {
        let picture = Picture {
            size_px: [2, 1],
            rgb: vec![255, 0, 0, 0, 0, 255],
        };
        for title in [
            "",
            "a \"name\" <with> 'quotes' \\",
            "ü 日本 😀\0\u{7}\n",
            &"x".repeat(5000),
        ] {
            let bytes = png(&picture, title).unwrap();
            let head = &bytes[..bytes.len().min(512)];
            assert!(
                head.windows(MARK.len())
                    .any(|window| window == MARK.as_bytes())
            );
            let mut reader = png::Decoder::new(std::io::Cursor::new(&bytes))
                .read_info()
                .unwrap();
            let mut rgb = vec![0; 6];
            reader.next_frame(&mut rgb).unwrap();
            assert_eq!(rgb, picture.rgb);
            let text = reader.info().utf8_text[0].get_text().unwrap();
            assert!(text.chars().all(|letter| !letter.is_control()));
            assert!(title.starts_with(text.get(..1).unwrap_or("")));
            assert_eq!(bytes, png(&picture, title).unwrap());
        }
    }
}
