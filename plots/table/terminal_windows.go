package table

import "golang.org/x/sys/windows"

// enableCodes makes a console take escape codes, and says whether it does: those
// before Windows 10 have none.
func enableCodes(f uintptr) bool {
	handle := windows.Handle(f)
	var mode uint32
	if windows.GetConsoleMode(handle, &mode) != nil {
		return false
	}
	if mode&windows.ENABLE_VIRTUAL_TERMINAL_PROCESSING != 0 {
		return true
	}
	return windows.SetConsoleMode(handle, mode|windows.ENABLE_VIRTUAL_TERMINAL_PROCESSING) == nil
}
