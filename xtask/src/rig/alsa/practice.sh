# Read by init: a sitting of practice. Whoever plays hears only what the program asks for, plays it,
# and pulls the pickup out once in the middle of an attempt. Nobody touches a key.

up_notes="95:2b 94:2d 94:2f 94:30 93:32 93:34 93:36 92:37"
on_notes="92:39 92:3b 91:3c 91:3e 90:40 90:42 90:43 90:45"

# Waits until the guest's clock, in hundredths of a second, is so far. Where the machine is slow, a
# note may be late, but it makes none of the following late.
until_clock() { while now && [ "${up%.*}${up#*.}" -lt "$1" ]; do usleep 1000; done; }

# These notes, one every half second, with a little life in their loudness.
perform() {
    now
    due=$((${up%.*}${up#*.} + 20))
    loud=0
    for note in "$@"; do
        loud=$(((loud + 1) % 3))
        until_clock $due
        printf "\\x${note%:*}\\x${note#*:}\\x5$loud" >&3
        until_clock $((due + 45))
        printf "\\x${note%:*}\\x${note#*:}\\x00" >&3
        due=$((due + 50))
    done
}

# Waits until the program has said this many times what comes next: twenty seconds.
await_step() {
    count=0
    until [ "$(grep -c '"kind":"step"' /tmp/steps)" -ge "$1" ]; do
        count=$((count + 1))
        [ $count -gt 200 ] && leave "no step $1 came"
        usleep 100000
    done
}

mkfifo /tmp/practice
: > /tmp/steps
(tee -a /tmp/steps < /tmp/practice | tell event) &
say "practises"
/evenhand practice /two.study --port "six string" --channels string --free --sound none \
    --data /tmp/data --events > /tmp/practice 2> /tmp/said &
program=$!
exec 3> "/dev/snd/midiC${inside}D0"
step=0
unplugged=no
while [ $step -lt 16 ]; do
    step=$((step + 1))
    await_step $step
    sleep 1.5
    # shellcheck disable=SC2086
    case $(grep '"kind":"step"' /tmp/steps | sed -n "${step}p") in
    *'"task":null'*) break ;;
    *'"piece":{"chunk":0}'*) perform $up_notes ;;
    *'"piece":{"chunk":1}'*)
        if [ $unplugged = no ]; then
            unplugged=yes
            perform 92:39 92:3b 91:3c 91:3e
            exec 3>&-
            say "unplugs"
            echo "" > $gadget/UDC
            await interrupted /tmp/steps
            sleep 3
            say "plugs in"
            plug_in
            await resumed /tmp/steps
            exec 3> "/dev/snd/midiC${inside}D0"
            sleep 1
        fi
        perform $on_notes
        ;;
    *'"piece":{"join"'*) perform $up_notes $on_notes ;;
    *) leave "nobody here can play that" ;;
    esac
done
wait $program
say "ended $?"
tell said < /tmp/said
/evenhand history --data /tmp/data --events | tell kept
