use evenhand::study::parse;
#[test]
fn probe() {
    let head = ["", "evenhand", "evenhand study", "evenhand study 2", "evenhand study 1 2", "evenhnad study 1", "chunk \"A\"", "evenhand study 1\nevenhand study 1"];
    for t in head { show(t.to_string()); }
    let lines = ["title", "title \"A", "title \"\"", "tuning", "tuning E2 A2", "tuning E2 A2 D3 G3 X3 E4", "capo", "capo 13", "capo two","metre", "metre 4", "metre 4/4 3/4", "metre 33/4",
    "tempo", "tempo 72.5", "tempo 72 of 1/3", "tempo 2000", "tempo 72\ntempo 80", "level", "level hard", "level preformance",
    "allow", "allow 30 ms", "allow chord spraed 30 ms", "allow cake 3 %", "allow slips", "allow slips 2 in 8", "allow slips 1 of 8", "allow slips 1 in 0",
    "allow unsteadiness", "allow unsteadiness 15", "allow unsteadiness 15 s", "allow unsteadiness 15 ms or 16 ms", "allow unsteadiness fifteen ms", "allow unsteadiness 5000 ms",
    "allow unevenness 2,5 dB", "allow unevenness 2.555 dB", "allow unevenness 2.5 ms", "allow drift 0 %", "allow click offset 25 to -45 ms", "allow click offset 25 ms", "allow click offset -45 25 ms", "allow click offset -900 to 25 ms",
    "allow drift 6 %\nallow drift 7 %", "allow drift 6 % or 20 ms", "bpm 72", "tempo: 72", "melody: 1/8 5:3", "landing next", "alternative \"B\"", "melody 1/8 5:3", "5:3 5:5", "chunk", "chunk The climb", "chunk \"A", "chunk \"\"", "chunk \"A\" bar 5", "chunk \"A\" at 5", "chunk \"A\" at bar five", "chunk \"A\" at bar 5 beat 0", "chunk \"A\" at bar 5 beat 2 plus 3", "chunk \"A\" at bar 5 beat 3 now",
    "chunk \"A\" at bar 5 beat 5\n m: 1/4 5:3", "chunk \"A\"\n", "chunk \"A\"\n m: 1/4 rest", "chunk \"A\"\n m: 1/4 5:3\nchunk \"A\"\n m: 1/4 5:3",
    "chunk \"A\"\n m: 1/4 5:3\n title X", "chunk \"A\"\n m: 1/4 5:3\n alternative \"B\"\n m: 1/4 6:8\n tempo 60", "chunk \"A\"\n m: 1/4 5:3\n alternative \"B\"\n m: 1/4 6:8\n landing next",
    "chunk \"A\"\n m: 1/4 5:3\n landing", "chunk \"A\"\n m: 1/4 5:3\n landing nxet","chunk \"A\"\n m: 1/4 5:3\n landing 5:3(hold)+4:2", "chunk \"A\"\n m: 1/4 5:3\n landing 5:3+5:5", "chunk \"A\"\n m: 1/4 5:3\n landing 5:3 4:2",
    "chunk \"A\"\n m: 1/4 5:3\n metre 3/4\nchunk \"B\"\nmetre 1/4\nm: 1/4 5:3\n", "chunk \"A\"\n m: 1/2. 5:3\nchunk \"B\"\n metre 2/4\n m: 1/4 5:3",
    ];
    for t in lines { show(format!("evenhand study 1\n{t}")); }
    let voices = ["", "1/9 5:3", "1/8... 5:3", "1/64.. 5:3", "2/4 5:3", "1/8 5/3", "1/8 5.3", "1/8 9:3", "1/8 5:x", "1/8 5:100", "1/8 H4", "1/8 C4#", "1/8 ^", "1/8 5:3+", "1/8 +5:3", "1/8 5:3 (p)+", "1/8 5:3 )", "1/8 5:3(5)", "1/8 5:3(3p)", "1/8 5:3(3 2)", "1/8 5:3(hold hold)", "1/8 5:3(trill)", "1/8 5:3(trill x)", "1/8 5:3(acent)", "1/8 5:3(p 4:2", "1/8 rset", "1/8 rolld 5:3+4:2", "1/8 shift", "1/8 shift VII rest", "1/8 barre 5:3", "1/8 barre V barre VI 5:3", "1/8 VII 5:3", "1/8 ti", "1/8 harmonic 5:3", "1/8 3in2 5:3", "1/8 [ 5:3 ]", "1/8 5:3 ]", "3in2[ 1/8 5:3 | 5:5 5:7 ]", "3in2[ 1/8 5:3", "3in2[ ]", "3in2[ 1/8 5:3 3in2[ 1/16 5:3 ] ]", "3in3[ 1/8 5:3 ]", "11in8[ 1/64 5:3 ]", "3in2[ 1/8 5:3 5:5 ]", "\"x\"", "1/8 5:3 bass: 4:2",
     "5:3", "1/8 tie", "1/8 rest tie", "1/8 7:3", "1/8 1:31", "1/8 5:3+5:3", "1/8 C4+C4", "1/8 5:3+5:5", "1/8 ^5:3", "1/8 C4 ^C4", "1/8 5:3 rest ^5:5", "1/8 5:0(2)", "1/8 5:3(trill 3)", "1/8 C3(trill 5)", "1/8 5:3(trill C2)", "1/8 rolled 5:3", "1/4 5:3 | 4:2", "1/2 5:3 5:5 5:7 | 5:3", "1/1 5:3 | 1/16 5:3", "1/8 E2+F2+G2+A2+B2+C3+D3+E3+F3"];
    for v in voices { show(format!("evenhand study 1\nchunk \"A\"\n  m: {v}")); }
    let two = ["m: 1/4 5:3\n b: 1/2 6:0", "m: 1/4 5:3\n b: 1/4 5:5", "m: 1/8 rest 6:3\n b: 1/4 6:0", "m: 1/8 rest 6:0\n b: 1/4 6:0(hold)", "a: 1/4 1:0\nb: 1/4 2:0\nc: 1/4 3:0\nd: 1/4 4:0\ne: 1/4 5:0\nf: 1/4 6:0\ng: 1/4 C5",
    "m: 1/4 5:3 5:5\n alternative \"B\"\n m: 1/4 6:8 6:9", "m: 1/4 5:3 5:5\n alternative \"B\"\n m: 1/4 6:8", "m: 1/4 5:3\n alternative \"B\"\n m: 1/4 6:8 6:9", "m: 1/4 5:3(trill 5)\n alternative \"B\"\n m: 1/4 6:8", "m: 1/4 5:3\n alternative \"B\"\n", "m: 1/4 5:3\n alternative \"B\"\n m: 1/4 6:8\n alternative \"B\"\n m: 1/4 6:8", "m: 1/4 5:3\n landing next"];
    for v in two { show(format!("evenhand study 1\nchunk \"A\"\n {v}")); }
}
fn show(t: String) {
    println!("-- {}", t.strip_prefix("evenhand study 1\n").unwrap_or(&t).replace("\n", "/"));
    match parse(&t).and_then(|s| s.prepare().map(|_| ())) { Ok(()) => println!("   OK!!!"), Err(ps) => for p in ps { println!("   {}", p.to_string().lines().next().unwrap()); } }
}
