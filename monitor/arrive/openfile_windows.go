package arrive

import (
	"os"
	"path/filepath"
)

// OpenFile opens a file of any folder as those of a Disk are opened: through an os.Root, which lets others rename and delete the file
// meanwhile, as os.OpenFile does not. What a root refuses, such as a link to another folder, is opened by its path.
func OpenFile(path string) (*os.File, error) {
	root, err := os.OpenRoot(filepath.Dir(path))
	if err != nil {
		return os.OpenFile(path, os.O_RDONLY|plainly, 0)
	}
	defer root.Close()
	f, err := openPlainly(root, filepath.Base(path))
	if err != nil {
		return os.OpenFile(path, os.O_RDONLY|plainly, 0)
	}
	return f, nil
}

// openRoot opens a folder through the one that it lies in, which lets others rename and delete it meanwhile, as os.OpenRoot does not.
func openRoot(path string) (*os.Root, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	above, err := os.OpenRoot(filepath.Dir(path))
	if err != nil {
		return os.OpenRoot(path)
	}
	defer above.Close()
	root, err := above.OpenRoot(filepath.Base(path))
	if err != nil {
		return os.OpenRoot(path)
	}
	return root, nil
}
