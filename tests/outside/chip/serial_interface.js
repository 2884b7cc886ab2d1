// The serial interface between processor and flash (RP2040 datasheet, 4.10): as far as second-stage boot
// code and questions to the flash need it. Whether flash can be read at its addresses follows from it.

const CONTROL = 0x00;
const FRAMES = 0x04;
const ENABLE = 0x08;
const WAITING = 0x24;
const STATE = 0x28;
const DATA = 0x60;

export class SerialInterface {
  /** `mapped(bool)` is told when flash can be read at its addresses, and when not. */
  constructor(flash, mapped) {
    Object.assign(this, { flash, mapped });
    this.registers = new Map();
    this.incoming = [];
    this.outgoing = [];
  }

  get(offset) {
    return this.registers.get(offset) ?? 0;
  }

  /** Four wires and "read" is how second-stage boot code leaves it. */
  get readsFlash() {
    const control = this.get(CONTROL);
    return Boolean(this.get(ENABLE) & 1) && ((control >> 21) & 3) === 2 && ((control >> 8) & 3) === 3;
  }

  /** As the boot ROM sets it for questions: a wire each way, bytes. */
  plain() {
    this.registers.set(CONTROL, 7 << 16);
    this.registers.set(ENABLE, 1);
    this.incoming = [];
    this.outgoing = [];
  }

  readUint32(offset) {
    switch (offset & 0xfff) {
      case WAITING: return this.incoming.length;
      case STATE:
        this.settle();
        return 0b110 | (this.incoming.length ? 8 : 0);
      case DATA: return this.incoming.shift() ?? 0;
      default: return this.get(offset & 0xfff);
    }
  }

  writeUint32(offset, value) {
    if (offset === DATA) {
      if (((this.get(CONTROL) >> 21) & 3) === 0) this.send(value & 0xff);
      return;
    }
    this.registers.set(offset, value >>> 0);
    if (offset === ENABLE) {
      if (!(value & 1)) {
        this.settle();
        this.incoming = [];
      }
      if (this.readsFlash) this.mapped(true);
    }
  }

  writeUint32Atomic(offset, value, kind) {
    const old = kind ? this.get(offset) : 0;
    this.writeUint32(offset, [value, old ^ value, old | value, old & ~value][kind]);
  }

  send(byte) {
    // Set to read, it sends a command first and then takes in so many bytes.
    if (((this.get(CONTROL) >> 8) & 3) === 3) this.outgoing.push(byte);
    else this.incoming.push(this.flash.exchange(byte));
  }

  settle() {
    if (this.outgoing.length) {
      this.outgoing.forEach((byte) => this.flash.exchange(byte));
      this.outgoing = [];
      const frames = this.get(FRAMES) & 0xffff;
      for (let i = 0; i <= frames; i++) this.incoming.push(this.flash.exchange(0));
    }
    this.flash.release();
  }
}
