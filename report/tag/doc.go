// Package tag writes HTML: elements, attributes and texts, for the pages of report and report/live.
//
//	tag.El("p", tag.Class("key"), tag.Text(name))   <p class="key">oat &lt;1&gt;</p>
//
// What is handed in is never taken for HTML. A text and the value of an attribute are escaped, always; an address is a URL, which is
// checked when it is made; and names of elements and attributes, and what is written as it stands, are constants of the
// source: a variable of type string does not fit there. Elements and attributes that would run or load something take no
// text. The rest is the caller's: nothing here knows which element may stand in which, and nothing is indented.
package tag
