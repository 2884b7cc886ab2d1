#!/bin/busybox sh
# Runs as the first process of the guest: makes a USB-MIDI pickup out of nothing, listens to it,
# plays it, unplugs it and plugs it in again. Every line that it says begins with the guest's
# clock in seconds, so whoever reads the log sees how long things took.
export PATH=/bin HOME=/root
/bin/busybox --install -s /bin
mount -t proc proc /proc
mount -t sysfs sys /sys
mount -t devtmpfs dev /dev
mkdir -p /dev/shm /root /tmp
mount -t tmpfs tmp /tmp

now() { read -r up _ < /proc/uptime; }
say() { now; echo "RIG $up $*"; }
tell() { while read -r line; do say "$1 $line"; done; }
leave() { say "$1"; sleep 1; poweroff -f; }

while read -r module; do insmod "/modules/$module" || say "module $module does not load"; done < /modules/order
mount -t configfs none /sys/kernel/config

# The pickup, after the kernel's Documentation/usb/gadget_configfs.rst.
gadget=/sys/kernel/config/usb_gadget/pickup
mkdir $gadget && cd $gadget || leave "no gadget"
echo 0x1d6b > idVendor
echo 0x0104 > idProduct
mkdir strings/0x409 configs/c.1 functions/midi.usb0
echo "Workshop" > strings/0x409/manufacturer
echo "Six String Converter" > strings/0x409/product
echo 1 > strings/0x409/serialnumber
ln -s functions/midi.usb0 configs/c.1/
cd /

plug_in() {
    ls /sys/class/udc > $gadget/UDC
    for _ in 1 2 3 4 5 6 7 8 9 10; do
        sleep 0.3
        # Two cards: the inside of the pickup, and what the computer sees of it.
        inside=$(grep f_midi /proc/asound/cards | head -n 1 | awk '{print $1}')
        outside=$(grep USB-Audio /proc/asound/cards | head -n 1 | awk '{print $1}')
        [ -n "$inside" ] && [ -n "$outside" ] && return
    done
    leave "the pickup does not come up"
}

# One note is told by what printf makes of it: on, then off after so many microseconds.
note() { printf "\\x$1\\x$2\\x50" >&3; usleep "$3"; printf "\\x$1\\x$2\\x00" >&3; }
# The octave of the small study, two notes a second and more: a channel per string.
octave() {
    left=$1
    for step in "95 2b" "94 2d" "94 2f" "94 30" "93 32" "93 34" "93 36" "92 37"; do
        [ "$left" = 0 ] && return
        left=$((left - 1))
        # shellcheck disable=SC2086
        note $step 220000
    done
}
# Waits for a line of this kind, ten seconds.
await() {
    count=0
    until grep -q "\"kind\":\"$1\"" "$2"; do
        count=$((count + 1))
        [ $count -gt 200 ] && leave "no $1 came"
        usleep 50000
    done
}

/evenhand doctor 2>&1 | tell doctor
plug_in
/evenhand ports 2>&1 | tell ports
/evenhand doctor /small.study 2>&1 | tell doctor-with-pickup

mkfifo /tmp/events
(tee -a /tmp/lines < /tmp/events | tell event) &
# The inside of the pickup is a port, too, so a name is needed this time.
/evenhand listen /small.study --port "six string" --channels string --tempo 120 --events > /tmp/events 2> /tmp/said &
program=$!
await stream /tmp/lines
/evenhand ports 2>&1 | tell ports

exec 3> "/dev/snd/midiC${inside}D0"
say "sends 1000 notes"
step=0
while [ $step -lt 1000 ]; do note 90 5a 1000; step=$((step + 1)); done
say "sends 100 chords"
step=0
while [ $step -lt 100 ]; do
    printf '\x90\x5a\x50\x91\x5b\x50\x92\x5c\x50\x93\x5d\x50\x94\x5e\x50\x95\x5f\x50' >&3
    printf '\x90\x5a\x00\x91\x5b\x00\x92\x5c\x00\x93\x5d\x00\x94\x5e\x00\x95\x5f\x00' >&3
    usleep 30000
    step=$((step + 1))
done
sleep 3
say "plays"
octave 8
say "played"
await verdict /tmp/lines

read -r _ _ _ _ _ _ _ _ _ _ _ _ _ user system _ < /proc/$program/stat
sleep 5
read -r _ _ _ _ _ _ _ _ _ _ _ _ _ user_then system_then _ < /proc/$program/stat
say "idle $((user_then + system_then - user - system)) hundredths of a second in 5 s"

: > /tmp/lines
octave 5
exec 3>&-
say "unplugs"
echo "" > $gadget/UDC
await interrupted /tmp/lines
sleep 3
/evenhand ports 2>&1 | tell ports-without
say "plugs in"
plug_in
await resumed /tmp/lines
exec 3> "/dev/snd/midiC${inside}D0"
: > /tmp/lines
octave 8
await verdict /tmp/lines
tell said < /tmp/said
kill $program
wait $program
exec 3>&-
. /practice.sh
leave "done"
