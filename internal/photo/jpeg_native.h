// The part of libjpeg-turbo that this package uses, behind a border that never
// lets libjpeg end the process: every function that can fail returns 0 or less
// and leaves the reason in the struct.
#ifndef FAIREDGE_JPEG_NATIVE_H
#define FAIREDGE_JPEG_NATIVE_H

#include <stddef.h>

enum jpeg_layout { JPEG_PLANES, JPEG_YCC, JPEG_RGB, JPEG_CMYK, JPEG_CMYK_INVERTED };

enum jpeg_fault {
	JPEG_FINE,
	JPEG_BROKEN,      // the data is damaged; also when libjpeg would merely warn and go on
	JPEG_UNSUPPORTED, // a legal kind of JPEG that libjpeg does not read
	JPEG_TOO_LARGE,   // beyond libjpeg's own limit, or no memory
	JPEG_CANCELLED,
};

struct jpeg_plane {
	unsigned char *pixels; // one band of it
	int stride;
	int width, height; // of the whole plane, without padding
	int across, down;  // how many pixels of luma one sample covers: 1, 2 or 4
};

struct jpeg_reader {
	// Set by jpeg_reader_header.
	int width, height;
	enum jpeg_layout layout;
	int planes;              // 1 or 3 with JPEG_PLANES, else 1 with 3 or 4 bytes a pixel
	struct jpeg_plane plane[3];
	int band_rows;           // rows of luma in each band but the last
	int largest_extraneous;  // most bytes that were skipped at one place of the scans

	enum jpeg_fault fault;
	char message[256]; // libjpeg's own words
	int cancel;        // set by another thread to stop a long reading

	struct jpeg_private *private_part;
};

// jpeg_reader_open returns NULL when there is no memory. data must stay where it
// is until jpeg_reader_close.
struct jpeg_reader *jpeg_reader_open(const unsigned char *data, size_t size, int max_scans);
int jpeg_reader_header(struct jpeg_reader *r); // reads up to the picture data
int jpeg_reader_start(struct jpeg_reader *r);  // allocates
int jpeg_reader_band(struct jpeg_reader *r);   // reads the next rows of luma, returns how many
int jpeg_reader_finish(struct jpeg_reader *r); // reads to the end of the picture
void jpeg_reader_cancel(struct jpeg_reader *r);
void jpeg_reader_close(struct jpeg_reader *r);

// jpeg_write_rgba makes a JPEG without any EXIF of 4-byte pixels (the fourth is
// passed over). The result is to be freed with free(); NULL when it failed.
unsigned char *jpeg_write_rgba(const unsigned char *pixels, int stride, int width, int height,
                               int quality, size_t *size);

#endif
