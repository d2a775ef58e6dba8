#include "jpeg_native.h"

#include <setjmp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jpeglib.h>
#include <jerror.h>

// A band is 64 rows of luma, or the nearest that whole blocks make: a picture on
// its side is turned in squares of that size.
enum { STRIDE_SLACK = 64, ROWS_INTERLEAVED = 16, MAX_BAND_ROWS = 64 };

struct jpeg_private {
	struct jpeg_decompress_struct info;
	struct jpeg_error_mgr errors;
	struct jpeg_progress_mgr progress;
	jmp_buf escape;
	struct jpeg_reader *owner;
	int max_scans;
	int in_scans; // past the header
	int step_rows; // rows of luma that libjpeg hands out at a time
	int steps;     // and how many of those make a band
	JSAMPROW rows[3][MAX_BAND_ROWS];
};

static enum jpeg_fault fault_of(int code) {
	switch (code) {
	case JERR_OUT_OF_MEMORY:
	case JERR_IMAGE_TOO_BIG:
	case JERR_WIDTH_OVERFLOW:
		return JPEG_TOO_LARGE;
	case JERR_ARITH_NOTIMPL:
	case JERR_BAD_J_COLORSPACE:
	case JERR_BAD_PRECISION:
	case JERR_COMPONENT_COUNT:
	case JERR_CONVERSION_NOTIMPL:
	case JERR_CCIR601_NOTIMPL:
	case JERR_FRACT_SAMPLE_NOTIMPL:
	case JERR_NOTIMPL:
	case JERR_SOF_UNSUPPORTED:
		return JPEG_UNSUPPORTED;
	default:
		return JPEG_BROKEN;
	}
}

static void record(struct jpeg_private *p, enum jpeg_fault fault) {
	if (p->owner->fault == JPEG_FINE) {
		p->owner->fault = fault;
		p->errors.format_message((j_common_ptr)&p->info, p->owner->message);
	}
}

// on_error replaces libjpeg's exit().
static void on_error(j_common_ptr common) {
	struct jpeg_private *p = common->client_data;
	record(p, fault_of(p->errors.msg_code));
	longjmp(p->escape, 1);
}

// on_message sees the warnings (level -1), with which libjpeg goes on and makes
// up the rest of the picture. Those that mean lost picture data count as faults.
// Bytes too many between markers are common and often harmless; how many is
// noted for the caller to judge.
static void on_message(j_common_ptr common, int level) {
	struct jpeg_private *p = common->client_data;
	if (level >= 0) {
		return;
	}
	switch (p->errors.msg_code) {
	case JWRN_EXTRANEOUS_DATA:
		if (p->in_scans && p->errors.msg_parm.i[0] > p->owner->largest_extraneous) {
			p->owner->largest_extraneous = p->errors.msg_parm.i[0];
		}
		break;
	case JWRN_HIT_MARKER:
	case JWRN_HUFF_BAD_CODE:
	case JWRN_ARITH_BAD_CODE:
	case JWRN_JPEG_EOF:
	case JWRN_MUST_RESYNC:
		record(p, JPEG_BROKEN);
	}
}

static void on_output(j_common_ptr common) { (void)common; }

// on_progress is called between the rows of a progressive picture while libjpeg
// reads all of its scans in one call. A small file can hold thousands of scans.
static void on_progress(j_common_ptr common) {
	struct jpeg_private *p = common->client_data;
	if (__atomic_load_n(&p->owner->cancel, __ATOMIC_RELAXED)) {
		p->owner->fault = JPEG_CANCELLED;
		longjmp(p->escape, 1);
	}
	if (p->info.input_scan_number > p->max_scans && p->owner->fault == JPEG_FINE) {
		p->owner->fault = JPEG_UNSUPPORTED;
		snprintf(p->owner->message, sizeof p->owner->message, "more than %d scans", p->max_scans);
		longjmp(p->escape, 1);
	}
	// What is broken already need not be read to the end.
	if (p->owner->fault == JPEG_BROKEN) {
		longjmp(p->escape, 1);
	}
}

struct jpeg_reader *jpeg_reader_open(const unsigned char *data, size_t size, int max_scans) {
	struct jpeg_reader *r = calloc(1, sizeof *r);
	struct jpeg_private *p = calloc(1, sizeof *p);
	if (!r || !p) {
		free(r);
		free(p);
		return NULL;
	}
	r->private_part = p;
	p->owner = r;
	p->max_scans = max_scans;
	p->info.err = jpeg_std_error(&p->errors);
	p->errors.error_exit = on_error;
	p->errors.emit_message = on_message;
	p->errors.output_message = on_output;
	p->info.client_data = p;
	if (setjmp(p->escape)) {
		jpeg_reader_close(r);
		return NULL;
	}
	jpeg_create_decompress(&p->info);
	p->info.client_data = p;
	p->progress.progress_monitor = on_progress;
	p->info.progress = &p->progress;
	jpeg_mem_src(&p->info, data, size);
	return r;
}

// lay_out_planes reports whether the components can be taken as they lie in the
// file: luma at full size, colour at full, half or quarter size.
static int lay_out_planes(struct jpeg_reader *r, struct jpeg_decompress_struct *info) {
	int grey = info->jpeg_color_space == JCS_GRAYSCALE && info->num_components == 1;
	if (!grey && !(info->jpeg_color_space == JCS_YCbCr && info->num_components == 3)) {
		return 0;
	}
	for (int c = 0; c < info->num_components; c++) {
		jpeg_component_info *part = &info->comp_info[c];
		int across = info->max_h_samp_factor / part->h_samp_factor;
		int down = info->max_v_samp_factor / part->v_samp_factor;
		if (across * part->h_samp_factor != info->max_h_samp_factor ||
		    down * part->v_samp_factor != info->max_v_samp_factor || across == 3 || down == 3 ||
		    (c == 0 && (across != 1 || down != 1))) {
			return 0;
		}
		r->plane[c].across = across;
		r->plane[c].down = down;
	}
	r->layout = JPEG_PLANES;
	r->planes = info->num_components;
	info->out_color_space = info->jpeg_color_space;
	info->raw_data_out = TRUE;
	return 1;
}

// lay_out_pixels asks libjpeg for whole pixels, for everything else.
static void lay_out_pixels(struct jpeg_reader *r, struct jpeg_decompress_struct *info) {
	r->planes = 1;
	switch (info->jpeg_color_space) {
	case JCS_CMYK:
	case JCS_YCCK:
		info->out_color_space = JCS_CMYK;
		// Programs that write Adobe's marker store the inks inverted.
		r->layout = info->saw_Adobe_marker ? JPEG_CMYK_INVERTED : JPEG_CMYK;
		break;
	case JCS_RGB:
		info->out_color_space = JCS_RGB;
		r->layout = JPEG_RGB;
		break;
	default: // YCbCr; other spaces make libjpeg report an error at the start
		info->out_color_space = JCS_YCbCr;
		r->layout = JPEG_YCC;
	}
}

int jpeg_reader_header(struct jpeg_reader *r) {
	struct jpeg_private *p = r->private_part;
	if (setjmp(p->escape)) {
		return 0;
	}
	jpeg_read_header(&p->info, TRUE);
	p->in_scans = 1;
	r->width = p->info.image_width;
	r->height = p->info.image_height;
	if (!lay_out_planes(r, &p->info)) {
		lay_out_pixels(r, &p->info);
	}
	return 1;
}

static void *take(struct jpeg_private *p, size_t size) {
	return p->info.mem->alloc_large((j_common_ptr)&p->info, JPOOL_IMAGE, size);
}

// The slack keeps the rows of a band from falling into the same cache sets when
// the width is a power of two: a turned picture reads them side by side.
static void make_band_of_planes(struct jpeg_reader *r, struct jpeg_private *p) {
	p->step_rows = p->info.max_v_samp_factor * DCTSIZE;
	p->steps = MAX_BAND_ROWS / p->step_rows;
	r->band_rows = p->steps * p->step_rows;
	for (int c = 0; c < r->planes; c++) {
		jpeg_component_info *part = &p->info.comp_info[c];
		struct jpeg_plane *plane = &r->plane[c];
		int rows = p->steps * part->v_samp_factor * DCTSIZE;
		plane->width = part->downsampled_width;
		plane->height = part->downsampled_height;
		plane->stride = (part->width_in_blocks + part->h_samp_factor) * DCTSIZE + STRIDE_SLACK;
		plane->pixels = take(p, (size_t)plane->stride * rows);
		memset(plane->pixels, 128, (size_t)plane->stride * rows);
		for (int y = 0; y < rows; y++) {
			p->rows[c][y] = plane->pixels + (size_t)y * plane->stride;
		}
	}
}

static void make_band_of_pixels(struct jpeg_reader *r, struct jpeg_private *p) {
	struct jpeg_plane *plane = &r->plane[0];
	r->band_rows = ROWS_INTERLEAVED;
	plane->width = r->width;
	plane->height = r->height;
	plane->across = plane->down = 1;
	plane->stride = r->width * p->info.output_components + STRIDE_SLACK;
	plane->pixels = take(p, (size_t)plane->stride * ROWS_INTERLEAVED);
	memset(plane->pixels, 0, (size_t)plane->stride * ROWS_INTERLEAVED);
	for (int y = 0; y < ROWS_INTERLEAVED; y++) {
		p->rows[0][y] = plane->pixels + (size_t)y * plane->stride;
	}
}

// lacks_scans reports whether some coefficient of a progressive picture is not
// known to its last bit: the file was cut between two scans and closed properly,
// which libjpeg takes for a blurred picture. A scan that is not needed (no colour,
// say) is written all the same, by every encoder known to us.
static int lacks_scans(struct jpeg_decompress_struct *info) {
	if (!info->progressive_mode || !info->coef_bits) {
		return 0;
	}
	for (int c = 0; c < info->num_components; c++) {
		for (int k = 0; k < DCTSIZE2; k++) {
			if (info->coef_bits[c][k] != 0) {
				return 1;
			}
		}
	}
	return 0;
}

int jpeg_reader_start(struct jpeg_reader *r) {
	struct jpeg_private *p = r->private_part;
	if (setjmp(p->escape)) {
		return 0;
	}
	jpeg_start_decompress(&p->info);
	if (r->fault == JPEG_FINE && lacks_scans(&p->info)) {
		r->fault = JPEG_BROKEN;
		snprintf(r->message, sizeof r->message, "the last scans are missing");
	}
	if (r->fault != JPEG_FINE) {
		return 0;
	}
	if (r->layout == JPEG_PLANES) {
		make_band_of_planes(r, p);
	} else {
		make_band_of_pixels(r, p);
	}
	return 1;
}

int jpeg_reader_band(struct jpeg_reader *r) {
	struct jpeg_private *p = r->private_part;
	if (setjmp(p->escape)) {
		return 0;
	}
	int left = r->height - (int)p->info.output_scanline;
	int want = left < r->band_rows ? left : r->band_rows;
	volatile int got = 0;
	while (r->layout == JPEG_PLANES && got < want) {
		int step = got / p->step_rows;
		JSAMPARRAY planes[3];
		for (int c = 0; c < r->planes; c++) {
			planes[c] = p->rows[c] + step * p->info.comp_info[c].v_samp_factor * DCTSIZE;
		}
		int rows = jpeg_read_raw_data(&p->info, planes, p->step_rows);
		if (rows == 0) {
			return 0;
		}
		got += rows;
	}
	while (got < want) {
		int rows = jpeg_read_scanlines(&p->info, p->rows[0] + got, want - got);
		if (rows == 0) {
			break;
		}
		got += rows;
	}
	return got < want ? got : want;
}

int jpeg_reader_finish(struct jpeg_reader *r) {
	struct jpeg_private *p = r->private_part;
	if (setjmp(p->escape)) {
		return 0;
	}
	jpeg_finish_decompress(&p->info);
	return r->fault == JPEG_FINE;
}

void jpeg_reader_cancel(struct jpeg_reader *r) {
	__atomic_store_n(&r->cancel, 1, __ATOMIC_RELAXED);
}

void jpeg_reader_close(struct jpeg_reader *r) {
	struct jpeg_private *p = r->private_part;
	if (!setjmp(p->escape)) {
		jpeg_destroy_decompress(&p->info);
	}
	free(p);
	free(r);
}

struct writer {
	struct jpeg_compress_struct info;
	struct jpeg_error_mgr errors;
	jmp_buf escape;
	unsigned char *out;
	unsigned long size;
};

static void on_write_error(j_common_ptr common) {
	longjmp(((struct writer *)common->client_data)->escape, 1);
}

static void write_rows(struct writer *w, const unsigned char *pixels, int stride) {
	while (w->info.next_scanline < w->info.image_height) {
		JSAMPROW row = (JSAMPROW)pixels + (size_t)w->info.next_scanline * stride;
		jpeg_write_scanlines(&w->info, &row, 1);
	}
}

unsigned char *jpeg_write_rgba(const unsigned char *pixels, int stride, int width, int height,
                               int quality, size_t *size) {
	struct writer *w = calloc(1, sizeof *w);
	if (!w) {
		return NULL;
	}
	w->info.err = jpeg_std_error(&w->errors);
	w->errors.error_exit = on_write_error;
	w->errors.output_message = on_output;
	w->info.client_data = w;
	if (setjmp(w->escape)) {
		free(w->out);
		w->out = NULL;
	} else {
		jpeg_create_compress(&w->info);
		w->info.client_data = w;
		jpeg_mem_dest(&w->info, &w->out, &w->size);
		w->info.image_width = width;
		w->info.image_height = height;
		w->info.input_components = 4;
		w->info.in_color_space = JCS_EXT_RGBX;
		jpeg_set_defaults(&w->info);
		jpeg_set_quality(&w->info, quality, TRUE);
		jpeg_start_compress(&w->info, TRUE);
		write_rows(w, pixels, stride);
		jpeg_finish_compress(&w->info);
	}
	jpeg_destroy_compress(&w->info);
	unsigned char *out = w->out;
	*size = w->size;
	free(w);
	return out;
}
