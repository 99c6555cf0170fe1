// Command bench measures how quick asusual is, beside what a practitioner would write in Python for the same job, on
// the same files in the same run, and prints Markdown tables.
//
//	go run ./cmd/bench [-dir FOLDER] [-files 20000] [-channels 512] [-rows 100000] [-wide 1024] [-shift 28800] [-shifts 42]
//	                   [-jobs TEXT] [-times 1] [-growth] [-asusual FILE] [-python FILE] [-seed 1]
//
// Each job runs in a process of its own. The table gives its time by the clock and the processor's, without the start of
// the process (an import takes Python half a second and more), its peak memory with everything, both times as a multiple
// of ours, and whether the goal is met, which is one for the default sizes on two processors that do nothing else. Where a
// peer learned other limits than ours, by more than rounding, that is said. Spectra are those of the invented oat-drink
// line, made with the seed; the files stay in the folder (default: one that is removed at the end) and are used again by
// a later run with the same sizes.
//
// The peers are the scripts in testdata/peers. They want Debian's python3-numpy, python3-scipy, python3-pandas,
// python3-sklearn and libopenblas0-pthread; where Python lacks one, its column says so. Two variables that make
// OpenBLAS take slower kernels, OPENBLAS_CORETYPE and OPENBLAS_L2_SIZE, are not handed on to them.
//
// All of it takes some two minutes on two processors. -jobs runs only the jobs whose name holds the text. -times measures each of ours and
// of the peers' so often and takes the shortest, since whatever else the machine does only adds to it. -growth prints how time and
// memory grow with n and p instead.
// -asusual names a binary; without it one is built. -asusual none and -python none leave out what needs them.
//
// Exit status: 0 done, 1 could not be done, 2 wrong command line.
package main
