package arrive

import (
	"context"
	"io/fs"
	"sync"
)

// describers is how many files of a listing are asked about at a time: each is a call of the system, which on a network share
// waits for the server.
const describers = 8

// reader returns what reads the next so many entries of a folder, and what ends that. Of an entry that vanished meanwhile it
// gives nil.
func (l *listing) reader(d fs.ReadDirFile, name string) (read func(n int) ([]fs.FileInfo, error), end func(), err error) {
	names, ok := d.(interface{ Readdirnames(n int) ([]string, error) })
	disk, onDisk := l.s.opt.Tree.(*Disk)
	if !ok || !onDisk {
		return func(n int) ([]fs.FileInfo, error) {
			found, err := d.ReadDir(n)
			infos := make([]fs.FileInfo, len(found))
			for i, e := range found {
				if infos[i], _ = e.Info(); l.ctx.Err() != nil { // nil where there is an error
					return nil, l.ctx.Err()
				}
			}
			return infos, err
		}, func() {}, nil
	}
	at, err := disk.Below(name)
	if err != nil {
		return nil, nil, err
	}
	return func(n int) ([]fs.FileInfo, error) {
		found, err := names.Readdirnames(n)
		return describe(l.ctx, at, found), err
	}, func() { _ = at.Close() }, nil
}

// describe describes files of a folder, several at a time; nil stands for one that is not there.
func describe(ctx context.Context, folder *Disk, names []string) []fs.FileInfo {
	infos := make([]fs.FileInfo, len(names))
	part := max(64, (len(names)+describers-1)/describers)
	var asking sync.WaitGroup
	for from := 0; from < len(names); from += part {
		asking.Go(func() {
			for i := from; i < min(from+part, len(names)) && ctx.Err() == nil; i++ {
				if Leftover(names[i]) {
					continue
				}
				if info, err := folder.Lstat(names[i]); err == nil {
					infos[i] = info
				}
			}
		})
	}
	asking.Wait()
	return infos
}
