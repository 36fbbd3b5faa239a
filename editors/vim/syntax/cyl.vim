" Records of breathing-air cylinders (*.cyl).
" Of two matches with the same start the one defined last wins, so the general stand first.

if exists('b:current_syntax')
  finish
endif

" The words of the language; python editors/generate.py writes them.
" words: header
let s:header = 'visual\s\+sheet\|gauge\s\+sheet\|hydro\s\+sheet\|department\|fill\s\+sheet\|cylinder\|person\|recall\|sealed\|source\|tester\|waived\|site'
" end of words
" words: property
let s:property = 'expansion-limit\|test-pressure\|usual-source\|authorised\|authorized\|test-every\|cartridge\|inspects\|contact\|marked\|serial\|class\|fills\|holds\|liner\|maker\|owner\|rated\|rules\|kind\|life\|made\|zone\|ree\|tag'
" end of words
" words: verb
let s:verb = 'returned\s\+to\s\+service\|cartridge\s\+changed\|entered\s\+service\|out\s\+of\s\+service\|gauge\s\+checked\|life\s\+extended\|air\s\+sample\|condemned\|remarked\|serviced\|damaged\|emptied\|retired\|filled\|gauged\|visual\|hydro\|moved'
" end of words
" words: value
let s:value = 'overpressure\|compressor\|ultrasonic\|aluminium\|expansion\|to\s\+unread\|acoustic\|aluminum\|plastic\|storage\|slight\|strong\|proof\|steel\|fail\|heat\|none\|pass\|plus\|star\|air'
" end of words
" words: clause
let s:clause = 'particulate\|dew\s\+point\|permanent\|answered\|organics\|elastic\|method\|remark\|struck\|crack\|odour\|since\|total\|until\|water\|from\|late\|odor\|over\|CO2\|H2S\|for\|oil\|CO\|N2\|O2\|at\|by\|on\|to'
" end of words

" Where a word ends, since a name may hold . _ / and -.
let s:end = '[A-Za-z0-9._/-]\@!'
let s:text = '"\%([^"\\]\|\\["\\]\)*"'
let s:number = '[0-9]\+\%(\.[0-9]\+\)\?'

function! s:Match(group, pattern) abort
  execute 'syntax match' a:group "\x01" . '\C' . a:pattern . "\x01"
endfunction

call s:Match('cylError', '[^ \t"#]\+')
call s:Match('cylName', '[A-Za-z0-9][A-Za-z0-9._/-]*')
call s:Match('cylClause', '\%(' . s:clause . '\)' . s:end)
call s:Match('cylValue', '\%(' . s:value . '\)' . s:end)
call s:Match('cylVerb', '\%(' . s:verb . '\)' . s:end)

call s:Match('cylError', '-\?[0-9]\{1,3}\%(,[0-9]\{3}\)\+\%(\.[0-9]\+\)\?[A-Za-z%°]*')
call s:Match('cylError', '[0-9]\{1,2}:[0-9]\{1,2}\%(:[0-9]\{1,2}\)\?' . s:end)
call s:Match('cylError', '[0-9]\{1,2}[/.][0-9]\{1,2}[/.][0-9]\{4}' . s:end)
call s:Match('cylError', '[0-9]\{4}[/.][0-9]\{1,2}[/.][0-9]\{1,2}' . s:end)
call s:Match('cylError', '[0-9]\{4}-\%([0-9]-[0-9]\{1,2}\|[0-9]\{2}-[0-9]\)' . s:end)

call s:Match('cylQuantity', '[0-9]\+\s\+\%(years\?\|entries\)' . s:end)
call s:Match('cylQuantity', s:number . '\s*%[A-Za-z0-9._/%-]\@!')
call s:Match('cylQuantity', s:number . '\s*\%(psi\|bar\|MPa\|kPa\|mL\|cc\|in3\|ft3\|m3\|min\|ppm\|mg/m3\)' . s:end)
call s:Match('cylQuantity', s:number . '\s\+[FCLsh]' . s:end)
call s:Match('cylQuantity', '-' . s:number . '\s\+[FC]' . s:end)
call s:Match('cylQuantity', '-\?' . s:number . '\s*°[FC]' . s:end)
call s:Match('cylDate', '[0-9]\{2}:[0-9]\{2}\%(:[0-9]\{2}\)\?[A-Za-z0-9._/:-]\@!')
call s:Match('cylDate', '[0-9]\{4}-[0-9]\{2}\%(-[0-9]\{2}\)\?' . s:end)

call s:Match('cylProperty', '\%(^\s\+\)\@<=\%(' . s:property . '\)' . s:end)
call s:Match('cylHeader', '^\%(' . s:header . '\)' . s:end)
call s:Match('cylError', '".*')
call s:Match('cylText', s:text)
" All of a line up to its `struck` clause, as one line through it would go.
call s:Match('cylStruck', '^\s*[^"# \t]\%([^"#]\|' . s:text . '\)\{-}\ze\s\+struck\s\+[0-9]\{4}-[0-9]\{2}-[0-9]\{2}' . s:end)
call s:Match('cylError', '^\%(<\{7}\|=\{7}\|>\{7}\||\{7}\)\%( .*\)\?$')
call s:Match('cylComment', '#.*')

highlight default link cylComment Comment
highlight default link cylHeader Title
highlight default link cylProperty Identifier
highlight default link cylVerb Function
highlight default link cylValue Boolean
highlight default link cylClause Keyword
highlight default link cylDate Special
highlight default link cylQuantity Number
highlight default link cylName Normal
highlight default link cylText String
highlight default link cylError Error
highlight default cylStruck term=strikethrough cterm=strikethrough gui=strikethrough ctermfg=Gray guifg=Gray

let b:current_syntax = 'cyl'
