#include "heic_native.h"

#include <dlfcn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <libheif/heif.h>

// Every function of libheif in use. The types come from its header; the code is
// found by name.
#define FUNCTIONS(X) \
	X(heif_context_alloc) \
	X(heif_context_free) \
	X(heif_context_read_from_memory_without_copy) \
	X(heif_context_get_primary_image_handle) \
	X(heif_image_handle_release) \
	X(heif_image_handle_get_width) \
	X(heif_image_handle_get_height) \
	X(heif_image_handle_get_ispe_width) \
	X(heif_image_handle_get_ispe_height) \
	X(heif_image_handle_get_nclx_color_profile) \
	X(heif_decoding_options_alloc) \
	X(heif_decoding_options_free) \
	X(heif_decode_image) \
	X(heif_image_release) \
	X(heif_image_get_colorspace) \
	X(heif_image_get_width) \
	X(heif_image_get_height) \
	X(heif_image_get_bits_per_pixel) \
	X(heif_image_get_plane) \
	X(heif_image_get_nclx_color_profile) \
	X(heif_image_get_decoding_warnings) \
	X(heif_nclx_color_profile_free)

struct heic_library {
#define FIELD(name) __typeof__(&name) name;
	FUNCTIONS(FIELD)
#undef FIELD
};

struct heic_private {
	struct heic_library lib;
	void *opened;
	struct heif_context *context;
	struct heif_image_handle *handle;
	struct heif_image *image;
};

// load_library returns what is missing, or NULL.
static const char *load_library(struct heic_private *p) {
	// The library stays loaded once it is: closing it only lowers a count, because
	// it is marked as not to be unloaded.
	p->opened = dlopen("libheif.so.1", RTLD_NOW | RTLD_LOCAL | RTLD_NODELETE);
	if (!p->opened) {
		return "libheif.so.1";
	}
#define FIND(name) \
	*(void **)&p->lib.name = dlsym(p->opened, #name); \
	if (!p->lib.name) { \
		return #name; \
	}
	FUNCTIONS(FIND)
#undef FIND
	return NULL;
}

static int fail(struct heic_reader *r, enum heic_fault fault, const char *message) {
	r->fault = fault;
	snprintf(r->message, sizeof r->message, "%s", message ? message : "");
	return 0;
}

static int fail_with(struct heic_reader *r, struct heif_error error) {
	enum heic_fault fault = HEIC_BROKEN;
	if (error.code == heif_error_Memory_allocation_error || error.subcode == heif_suberror_Security_limit_exceeded) {
		fault = HEIC_TOO_LARGE;
	} else if (error.code == heif_error_Unsupported_filetype || error.code == heif_error_Unsupported_feature ||
	           error.code == heif_error_Plugin_loading_error) {
		fault = HEIC_UNSUPPORTED;
	}
	return fail(r, fault, error.message);
}

static int open_container(struct heic_reader *r, const unsigned char *data, size_t size) {
	struct heic_private *p = r->private_part;
	const char *missing = load_library(p);
	if (missing) {
		return fail(r, HEIC_NO_LIBRARY, missing);
	}
	p->context = p->lib.heif_context_alloc();
	if (!p->context) {
		return fail(r, HEIC_TOO_LARGE, "no memory");
	}
	struct heif_error error = p->lib.heif_context_read_from_memory_without_copy(p->context, data, size, NULL);
	if (error.code == heif_error_Ok) {
		error = p->lib.heif_context_get_primary_image_handle(p->context, &p->handle);
	}
	if (error.code != heif_error_Ok) {
		return fail_with(r, error);
	}
	r->stored_width = p->lib.heif_image_handle_get_ispe_width(p->handle);
	r->stored_height = p->lib.heif_image_handle_get_ispe_height(p->handle);
	r->width = p->lib.heif_image_handle_get_width(p->handle);
	r->height = p->lib.heif_image_handle_get_height(p->handle);
	return 1;
}

struct heic_reader *heic_reader_open(const unsigned char *data, size_t size) {
	struct heic_reader *r = calloc(1, sizeof *r);
	struct heic_private *p = calloc(1, sizeof *p);
	if (!r || !p) {
		free(r);
		free(p);
		return NULL;
	}
	r->private_part = p;
	open_container(r, data, size);
	return r;
}

static struct heif_error decode(struct heic_private *p, enum heif_colorspace space, enum heif_chroma chroma) {
	struct heif_decoding_options *options = p->lib.heif_decoding_options_alloc();
	if (options) {
		options->convert_hdr_to_8bit = 1;
		if (options->version >= 3) {
			options->strict_decoding = 1;
		}
	}
	struct heif_error error = p->lib.heif_decode_image(p->handle, &p->image, space, chroma, options);
	if (options) {
		p->lib.heif_decoding_options_free(options);
	}
	return error;
}

// is_full_range asks the container, then the bit stream, whose record libheif
// copies to the image. Where neither says, HEIF's default is full range (ISO/IEC
// 23000-22, 7.3.6.4).
static int is_full_range(struct heic_private *p) {
	struct heif_color_profile_nclx *profile = NULL;
	if (p->lib.heif_image_handle_get_nclx_color_profile(p->handle, &profile).code != heif_error_Ok || !profile) {
		profile = NULL;
		if (p->lib.heif_image_get_nclx_color_profile(p->image, &profile).code != heif_error_Ok || !profile) {
			return 1;
		}
	}
	int full = profile->full_range_flag;
	p->lib.heif_nclx_color_profile_free(profile);
	return full;
}

// is_plain reports whether the image is Y'CbCr or grey at 8 bits.
static int is_plain(struct heic_private *p) {
	enum heif_colorspace space = p->lib.heif_image_get_colorspace(p->image);
	return (space == heif_colorspace_YCbCr || space == heif_colorspace_monochrome) &&
	       p->lib.heif_image_get_bits_per_pixel(p->image, heif_channel_Y) == 8;
}

// decode_plain takes the pixels as they are coded if it can: asked to convert,
// libheif (1.15) also stretches them to full range, but leaves their profile
// saying that they are not. Of pixels it had to convert we know that they are.
static struct heif_error decode_plain(struct heic_reader *r) {
	struct heic_private *p = r->private_part;
	struct heif_error error = decode(p, heif_colorspace_undefined, heif_chroma_undefined);
	if (error.code != heif_error_Ok) {
		return error;
	}
	if (is_plain(p)) {
		r->full_range = is_full_range(p);
		return error;
	}
	p->lib.heif_image_release(p->image);
	p->image = NULL;
	r->full_range = 1;
	return decode(p, heif_colorspace_YCbCr, heif_chroma_420);
}

static int take_plane(struct heic_reader *r, int index, enum heif_channel channel) {
	struct heic_private *p = r->private_part;
	struct heic_plane *plane = &r->plane[index];
	plane->pixels = p->lib.heif_image_get_plane(p->image, channel, &plane->stride);
	plane->width = p->lib.heif_image_get_width(p->image, channel);
	plane->height = p->lib.heif_image_get_height(p->image, channel);
	return plane->pixels && plane->width > 0 && plane->height > 0 && plane->stride >= plane->width &&
	       p->lib.heif_image_get_bits_per_pixel(p->image, channel) == 8;
}

int heic_reader_decode(struct heic_reader *r) {
	struct heic_private *p = r->private_part;
	struct heif_error error = decode_plain(r);
	if (error.code != heif_error_Ok) {
		return fail_with(r, error);
	}
	struct heif_error warning;
	if (p->lib.heif_image_get_decoding_warnings(p->image, 0, &warning, 1) > 0) {
		return fail(r, HEIC_BROKEN, warning.message);
	}
	int grey = p->lib.heif_image_get_colorspace(p->image) == heif_colorspace_monochrome;
	r->planes = grey ? 1 : 3;
	if (!take_plane(r, 0, heif_channel_Y)) {
		return fail(r, HEIC_UNSUPPORTED, "no 8-bit grey in it");
	}
	if (grey) {
		return 1;
	}
	if (!take_plane(r, 1, heif_channel_Cb) || !take_plane(r, 2, heif_channel_Cr)) {
		return fail(r, HEIC_UNSUPPORTED, "no 8-bit colour in it");
	}
	return 1;
}

void heic_reader_close(struct heic_reader *r) {
	struct heic_private *p = r->private_part;
	if (p->image) {
		p->lib.heif_image_release(p->image);
	}
	if (p->handle) {
		p->lib.heif_image_handle_release(p->handle);
	}
	if (p->context) {
		p->lib.heif_context_free(p->context);
	}
	if (p->opened) {
		dlclose(p->opened);
	}
	free(p);
	free(r);
}
