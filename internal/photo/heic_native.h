// The part of libheif that this package uses. The library is looked for when the
// first HEIC is read, so the program starts without it and runs where it is not
// installed.
#ifndef FAIREDGE_HEIC_NATIVE_H
#define FAIREDGE_HEIC_NATIVE_H

#include <stddef.h>

enum heic_fault {
	HEIC_FINE,
	HEIC_NO_LIBRARY,
	HEIC_BROKEN,
	HEIC_UNSUPPORTED,
	HEIC_TOO_LARGE,
};

struct heic_plane {
	unsigned char *pixels;
	int stride, width, height;
};

struct heic_reader {
	// Set by heic_reader_open.
	int stored_width, stored_height; // of the main picture, before it is turned or cut
	int width, height;               // after
	// Set by heic_reader_decode: Y, Cb, Cr at 8 bits, the colour at full or half size
	// each way, turned as the container says.
	struct heic_plane plane[3];
	int planes;     // 3, or 1 when there is no colour
	int full_range; // 0: black is 16 and white 235

	enum heic_fault fault;
	char message[256];

	struct heic_private *private_part;
};

// heic_reader_open reads the container; NULL when there is no memory. data must
// stay where it is until heic_reader_close.
struct heic_reader *heic_reader_open(const unsigned char *data, size_t size);
int heic_reader_decode(struct heic_reader *r); // 0 when it failed
void heic_reader_close(struct heic_reader *r);

#endif
