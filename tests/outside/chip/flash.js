// A flash of 2 MiB behind its own serial interface: what it holds, how long it takes, and what is left
// where the power goes meanwhile.

export const SIZE = 2 * 1024 * 1024;
export const PAGE = 256;
export const SECTOR = 4096;

/** JEDEC's number of the maker and the kind, and a number of this very one; both are ours. */
const KIND = [0xef, 0x40, 0x15];
const NUMBER = [0xe6, 0x61, 0x38, 0x12, 0x34, 0x56, 0x78, 0x9a];

/** How long a page goes over the wire: 260 bytes at a sixth of 125 MHz, which is what the boot ROM
 *  sets (RP2040 datasheet, 2.8.3.1.3). In microseconds. */
const WIRE = 100;

export class Flash {
  /** `page` and `sector`: how long writing and erasing one takes, in microseconds. */
  constructor(cells, { page, sector, number = NUMBER }) {
    Object.assign(this, { cells, page, sector, number });
    this.operations = 0;
    this.cutAt = null;
    this.asked = [];
  }

  /** The steps of erasing: each lasts so many nanoseconds, and is done at their end. */
  erasing(from, length) {
    if (from % SECTOR || length % SECTOR) throw new Error(`erasing ${length} bytes at ${from}`);
    return this.steps('erase', from, length, SECTOR, this.sector, (at, whole) => {
      this.cells.fill(0xff, at, at + (whole ? SECTOR : SECTOR / 2));
    });
  }

  /** The steps of writing: bits go from 1 to 0, never back. */
  writing(from, bytes) {
    if (from % PAGE || bytes.length % PAGE) throw new Error(`writing ${bytes.length} bytes at ${from}`);
    return this.steps('write', from, bytes.length, PAGE, this.page + WIRE, (at, whole) => {
      const end = whole ? PAGE : PAGE / 2;
      for (let i = 0; i < end; i++) this.cells[at + i] &= bytes[at - from + i];
    });
  }

  steps(what, from, length, size, micros, act) {
    if (from + length > SIZE) throw new Error(`${what} beyond the flash: ${length} bytes at ${from}`);
    const steps = [];
    for (let at = from; at < from + length; at += size) {
      steps.push({ what, at, micros, act: (whole) => act(at, whole) });
    }
    return steps;
  }

  /** One byte there and one back, while the flash is selected. */
  exchange(out) {
    const before = this.asked.length;
    this.asked.push(out & 0xff);
    switch (this.asked[0]) {
      // What it is; which one it is, after four bytes of nothing (W25Q16JV's datasheet, 8.2, from memory).
      case 0x9f: return before ? KIND[(before - 1) % KIND.length] : 0xff;
      case 0x4b: return before > 4 ? this.number[(before - 5) % this.number.length] : 0xff;
      // Its state: never busy here, since busy times are the boot ROM's; four wires are allowed.
      case 0x05: return 0;
      case 0x35: return before ? 2 : 0xff;
      default: return 0xff;
    }
  }

  /** It is let go: what was asked is over. */
  release() {
    this.asked = [];
  }
}
