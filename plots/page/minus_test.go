package page

import "testing"

// What is read has a true minus; what is typed, copied or read by programs keeps its letters.
func TestTrueMinus(t *testing.T) {
	const html = `<p title="at -1">at -0.676</p><input value="-2"><td>-3</td><pre>-4</pre><script>x = -5</script>` +
		`<textarea>-6</textarea><b>low-7</b> (-8/9)`
	const want = `<p title="at -1">at −0.676</p><input value="-2"><td>−3</td><pre>-4</pre><script>x = -5</script>` +
		`<textarea>-6</textarea><b>low-7</b> (−8/9)`
	if got := string(trueMinus([]byte(html))); got != want {
		t.Errorf("%s\nwant\n%s", got, want)
	}
}
