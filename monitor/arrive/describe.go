package arrive

import (
	"context"
	"io/fs"
	"sync"
)

// describers is how many files of a listing are asked about at a time: each is a call of the system, which on a network share
// waits for the server.
const describers = 8

// reader returns what reads the next entries of a folder, and what ends that. Of an entry that vanished meanwhile it gives nil.
func (l *listing) reader(d fs.ReadDirFile, name string) (next func() ([]fs.FileInfo, error), end func(), err error) {
	names, ok := d.(interface{ Readdirnames(n int) ([]string, error) })
	disk, onDisk := l.s.opt.Tree.(*Disk)
	if !ok || !onDisk {
		return func() ([]fs.FileInfo, error) {
			found, err := d.ReadDir(described)
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
	next, end = ahead(l.ctx, func(ctx context.Context) ([]fs.FileInfo, error) {
		found, err := names.Readdirnames(described)
		return describe(ctx, at, found), err
	}, func() { _ = at.Close() })
	return next, end, nil
}

// ahead returns what gives what read returns, which is called anew while the last answer is dealt with, until it gives an error. end waits
// for it and then calls done.
func ahead(ctx context.Context, read func(context.Context) ([]fs.FileInfo, error), done func()) (next func() ([]fs.FileInfo, error), end func()) {
	type answer struct {
		infos []fs.FileInfo
		err   error
	}
	ctx, cancel := context.WithCancel(ctx)
	answers := make(chan answer)
	var reading sync.WaitGroup
	reading.Go(func() {
		for {
			infos, err := read(ctx)
			select {
			case answers <- answer{infos, err}:
			case <-ctx.Done():
				return
			}
			if err != nil || len(infos) == 0 {
				return
			}
		}
	})
	next = func() ([]fs.FileInfo, error) {
		select {
		case a := <-answers:
			return a.infos, a.err
		case <-ctx.Done():
			return nil, ctx.Err()
		}
	}
	return next, func() {
		cancel()
		reading.Wait()
		done()
	}
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
				infos[i] = lstat(folder, names[i])
			}
		})
	}
	asking.Wait()
	return infos
}

// lstatIn is lstat by the folder itself.
func lstatIn(folder *Disk, base string) fs.FileInfo {
	info, err := folder.Lstat(base)
	if err != nil {
		return nil
	}
	return info
}
