" Writes the syntax group of every character of a file, a line of names for each of its lines.
" Given by environment variables: RUNTIME (a folder), SAMPLE and DUMP (files).
set nocompatible
set encoding=utf-8
let &runtimepath = $RUNTIME . ',' . &runtimepath
syntax on
filetype plugin on
execute 'edit' fnameescape($SAMPLE)
syntax sync fromstart
let s:lines = []
for s:line in range(1, line('$'))
  let s:names = []
  let s:column = 1
  for s:character in split(getline(s:line), '\zs')
    let s:name = synIDattr(synID(s:line, s:column, 1), 'name')
    call add(s:names, empty(s:name) ? '-' : s:name)
    let s:column += len(s:character)
  endfor
  call add(s:lines, join(s:names))
endfor
call add(s:lines, join([&filetype, &commentstring, &shiftwidth, &expandtab, &foldmethod, &iskeyword]))
call writefile(s:lines, $DUMP)
qa!
