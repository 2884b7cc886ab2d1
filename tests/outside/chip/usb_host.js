// A computer's end of USB: it finds out what is plugged in, and then passes bytes to and fro (USB 2.0, 9.4;
// CDC 1.2 for the line state).

const PACKET = 64;
const AVAILABLE = 1 << 10;

function request(type, code, value, index, length) {
  const bytes = new Uint8Array(8);
  const view = new DataView(bytes.buffer);
  bytes[0] = type;
  bytes[1] = code;
  view.setUint16(2, value, true);
  view.setUint16(4, index, true);
  view.setUint16(6, length, true);
  return bytes;
}

/** A buffer that waits for a packet stays available until the packet is there (RP2040 datasheet, 4.1.2.5); the
 *  emulator takes the bit away at once. */
function keepAvailable(usb, mcu) {
  const updated = usb.DPRAMUpdated.bind(usb);
  const finish = usb.finishRead.bind(usb);
  const set = (offset, on) => {
    const value = mcu.usbDPRAMView.getUint32(offset, true);
    mcu.usbDPRAMView.setUint32(offset, on ? value | AVAILABLE : value & ~AVAILABLE, true);
  };
  usb.DPRAMUpdated = (offset, value) => {
    updated(offset, value);
    const receives = offset >= 0x8c && offset <= 0xfc && offset & 4;
    if (receives && value & AVAILABLE) set(offset, true);
  };
  usb.finishRead = (endpoint, buffer) => {
    if (endpoint) set(0x84 + endpoint * 8, false);
    finish(endpoint, buffer);
  };
}

export class UsbHost {
  constructor(chip) {
    const { mcu, mcu: { usbCtrl: usb } } = chip;
    Object.assign(this, { chip, usb });
    keepAvailable(usb, mcu);
    this.steps = this.greeting();
    this.outgoing = [];
    this.room = 0;
    this.ready = false;
    this.serial = null;
    usb.onUSBEnabled = () => usb.resetDevice();
    usb.onResetReceived = () => { if (!this.begun) { this.begun = true; this.go(); } };
    usb.onEndpointWrite = (endpoint, bytes) => this.came(endpoint, bytes);
    usb.onEndpointRead = (endpoint, length) => {
      if (endpoint === this.to) { this.room = length; this.flush(); }
    };
  }

  /** What is asked of a device, one after the other; what it answers comes back. */
  *greeting() {
    yield request(0x00, 5, 1, 0, 0);
    const device = yield request(0x80, 6, 0x100, 0, 18);
    if (device[16]) {
      const text = yield request(0x80, 6, 0x300 | device[16], 0x409, PACKET);
      this.serial = Buffer.from(text.slice(2)).toString('utf16le');
    }
    const head = yield request(0x80, 6, 0x200, 0, 9);
    const all = yield request(0x80, 6, 0x200, 0, head[2] | (head[3] << 8));
    this.endpoints(all);
    yield request(0x00, 9, 1, 0, 0);
    yield request(0x21, 0x22, 3, 0, 0);
    this.ready = true;
    this.flush();
  }

  go(answer) {
    const { value, done } = this.steps.next(answer);
    if (done) return;
    this.answer = [];
    this.wanted = value[6] | (value[7] << 8);
    this.usb.sendSetupPacket(value);
  }

  came(endpoint, bytes) {
    if (endpoint === 0) {
      if (this.ready) return;
      this.answer.push(...bytes);
      // Less than a packet, or all that was asked for, is the end.
      if (bytes.length < PACKET || this.answer.length >= this.wanted) this.go(this.answer);
    } else if (endpoint === this.from && bytes.length) {
      this.chip.tell({ kind: 'usb', bytes: [...bytes] });
    }
  }

  /** The two endpoints of the interface for data (class 10). */
  endpoints(all) {
    let data = false;
    for (let at = 0; at < all.length && all[at]; at += all[at]) {
      if (all[at + 1] === 4) data = all[at + 5] === 10;
      if (all[at + 1] === 5 && data) {
        const number = all[at + 2] & 15;
        if (all[at + 2] & 0x80) this.from = number;
        else this.to = number;
      }
    }
  }

  send(bytes) {
    this.outgoing.push(...bytes);
    this.flush();
  }

  flush() {
    if (!this.ready || !this.room || !this.outgoing.length) return;
    const packet = Uint8Array.from(this.outgoing.splice(0, Math.min(PACKET, this.room)));
    this.room = 0;
    this.usb.endpointReadDone(this.to, packet);
  }
}
