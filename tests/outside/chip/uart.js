// The chip's UART (Arm PL011): one byte in its receiver, or 32 with the FIFO on; what comes while it is full is
// lost, and said with the next byte. What it sends takes as long as it takes.

const ENABLED = 1;
const FIFO = 1 << 4;
const RX = 1 << 4;
const OVERRUN_INTERRUPT = 1 << 10;
const OVERRUN = 1 << 11;
export const FRAMING = 1 << 8;

/** A byte on a MIDI line: ten bits at 31,250 a second (IEC 63035), in nanoseconds. */
export const BYTE = 320_000;

export class Uart {
  constructor(chip, irq) {
    Object.assign(this, { chip, irq });
    this.registers = new Map();
    this.waiting = [];
    this.overrun = false;
    this.status = 0;
    this.sending = [];
    this.counts = { received: 0, overruns: 0, broken: 0, sent: 0, latest: 0 };
  }

  get(offset) {
    return this.registers.get(offset) ?? 0;
  }

  get room() {
    return this.get(0x2c) & FIFO ? 32 : 1;
  }

  get baud() {
    const divisor = this.get(0x24) + this.get(0x28) / 64;
    return divisor ? this.chip.mcu.clkPeri / divisor / 16 : 0;
  }

  /** A byte has come in whole. */
  receive(byte, errors = 0) {
    if (!(this.get(0x30) & ENABLED)) return;
    const { counts } = this;
    counts.received += 1;
    if (errors) counts.broken += 1;
    if (this.waiting.length >= this.room) {
      counts.overruns += 1;
      this.overrun = true;
      this.status |= OVERRUN_INTERRUPT;
    } else {
      this.waiting.push({ word: byte | errors, at: this.chip.clock.nanosCounter });
      // A full half of the FIFO, or a while without another byte; without FIFO, at once.
      if (this.room === 1 || this.waiting.length >= 16) this.status |= RX;
      else this.chip.after(32 * BYTE / 10, () => { if (this.waiting.length) { this.status |= RX; this.tell(); } });
    }
    this.tell();
  }

  tell() {
    this.chip.mcu.setInterrupt(this.irq, Boolean(this.status & this.get(0x38)));
  }

  readUint32(offset) {
    switch (offset & 0xfff) {
      case 0x00: return this.take();
      case 0x18: {
        const full = this.sending.length > this.room;
        return (this.sending.length ? 1 << 3 : 1 << 7) | (full ? 1 << 5 : 0)
          | (this.waiting.length ? 0 : 1 << 4) | (this.waiting.length >= this.room ? 1 << 6 : 0);
      }
      case 0x3c: return this.status;
      case 0x40: return this.status & this.get(0x38);
      default: return this.get(offset & 0xfff);
    }
  }

  take() {
    const next = this.waiting.shift();
    if (!this.waiting.length) this.status &= ~RX;
    this.tell();
    if (!next) return 0;
    const late = this.chip.clock.nanosCounter - next.at;
    this.counts.latest = Math.max(this.counts.latest, late);
    this.chip.tell({ kind: 'taken', byte: next.word & 0xff, came: next.at / 1000, stamp: this.chip.stamp });
    let { word } = next;
    if (this.overrun) {
      this.overrun = false;
      word |= OVERRUN;
    }
    return word;
  }

  writeUint32(offset, value) {
    switch (offset & 0xfff) {
      case 0x00:
        if (this.sending.length > this.room) {
          this.chip.complain('a byte was written to a full sender, and is lost');
          return;
        }
        this.sending.push(value & 0xff);
        if (this.sending.length === 1) this.send();
        return;
      case 0x44:
        this.status &= ~value;
        this.tell();
        return;
      default:
        this.registers.set(offset & 0xfff, value >>> 0);
        this.tell();
    }
  }

  send() {
    this.chip.after(BYTE, () => {
      this.counts.sent += 1;
      this.chip.tell({ kind: 'sent', byte: this.sending.shift() });
      if (this.sending.length) this.send();
    });
  }

  writeUint32Atomic(offset, value, kind) {
    const old = kind ? this.get(offset & 0xfff) : 0;
    this.writeUint32(offset, [value, old ^ value, old | value, old & ~value][kind]);
  }
}
