package photo

import "bytes"

// format is a kind of picture file.
type format string

const (
	formatUnknown format = ""
	formatJPEG    format = "JPEG"
	formatPNG     format = "PNG"
	formatHEIC    format = "HEIC"
	// Pictures that people do have, but that are not read.
	formatGIF  format = "GIF"
	formatWebP format = "WebP"
	formatTIFF format = "TIFF or a raw format"
	formatPSD  format = "Photoshop's format"
	formatPDF  format = "PDF"
	formatJXL  format = "JPEG XL"
	formatJP2  format = "JPEG 2000"
)

// formatOf tells the format by the first bytes, whatever the file's name says.
func formatOf(data []byte) format {
	signatures := []struct {
		start string
		is    format
	}{
		{"\xff\xd8", formatJPEG},
		{"\x89PNG\r\n\x1a\n", formatPNG},
		{"GIF8", formatGIF},
		{"II*\x00", formatTIFF},
		{"MM\x00*", formatTIFF},
		{"8BPS", formatPSD},
		{"%PDF-", formatPDF},
		{"\xff\x0a", formatJXL},
		{"\x00\x00\x00\x0cJXL ", formatJXL},
		{"\x00\x00\x00\x0cjP  ", formatJP2},
	}
	for _, s := range signatures {
		if bytes.HasPrefix(data, []byte(s.start)) {
			return s.is
		}
	}
	switch {
	case len(data) >= 12 && string(data[:4]) == "RIFF" && string(data[8:12]) == "WEBP":
		return formatWebP
	case isHEIF(data):
		return formatHEIC
	}
	return formatUnknown
}

// isHEIF reports whether the file type box that ISO base media files begin with
// names a still picture: as its main brand or among the compatible ones (ISO/IEC
// 23008-12, annex B; AVIF shares the container). Films have the box too.
func isHEIF(data []byte) bool {
	if len(data) < 16 || string(data[4:8]) != "ftyp" {
		return false
	}
	size := int(data[0])<<24 | int(data[1])<<16 | int(data[2])<<8 | int(data[3])
	end := min(max(size, 16), len(data), 512)
	for at := 8; at+4 <= end; at += 4 {
		switch string(data[at : at+4]) {
		case "heic", "heix", "hevc", "hevx", "heim", "heis", "mif1", "mif2", "msf1", "avif":
			return true
		}
	}
	return false
}
