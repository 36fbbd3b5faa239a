" Rule packs for records of breathing-air cylinders (*.cylpack).
" A property goes on with the lines that stand further in; under `breaks` and `keeps` these are a record.

if exists('b:current_syntax')
  finish
endif

syntax include @cylRecord syntax/cyl.vim
unlet! b:current_syntax

" The words of the language; python editors/generate.py writes them.
" words: pack_header
let s:pack_header = 'setting\|suspend\|class\|level\|cite\|pack\|rule'
" end of words
" words: pack_property
let s:pack_property = 'hot-at-test-pressure\|crack-examination\|first-test-every\|expansion-limit\|gauge-allowance\|life-extendable\|star-test-every\|test-pressure\|until-emptied\|visual-every\|cycle-limit\|export-only\|from-permit\|test-factor\|count-from\|hot-factor\|ree-marked\|test-every\|to-the-day\|life-step\|plus-fill\|reference\|aluminum\|methods\|working\|advice\|breaks\|marked\|keeps\|rated\|cite\|life\|once\|over\|when\|hot\|say\|why\|on'
" end of words
" words: place
let s:place = 'returned\s\+to\s\+service\|entered\s\+service\|out\s\+of\s\+service\|storage\s\+filled\|storage\s\+status\|life\s\+extended\|air\s\+sample\|condemned\|remarked\|serviced\|damaged\|emptied\|retired\|filled\|gauged\|status\|visual\|hydro\|moved'
" end of words
" words: pack_level
let s:pack_level = 'caution\|warning\|danger\|notice'
" end of words
" words: pack_operator
let s:pack_operator = 'known\|and\|not\|or'
" end of words
" words: pack_clause
let s:pack_clause = 'cite\|none'
" end of words
" words: header
let s:header = 'visual\s\+sheet\|gauge\s\+sheet\|hydro\s\+sheet\|department\|fill\s\+sheet\|cylinder\|person\|recall\|sealed\|source\|tester\|waived\|site'
" end of words

let s:end = '[A-Za-z0-9._/-]\@!'

function! s:Match(group, pattern, ...) abort
  execute 'syntax match' a:group "\x01" . '\C' . a:pattern . "\x01" get(a:, 1, '')
endfunction

" What a line is made of, in column 1 and in a property alike.
call s:Match('cylpackError', '[^ \t"#]\+')
call s:Match('cylpackOperator', '<=\|>=\|!=\|[<>=+*/(),-]')
call s:Match('cylpackName', '[A-Za-z0-9][A-Za-z0-9._/-]*')
call s:Match('cylpackClause', '\%(' . s:pack_clause . '\)' . s:end)
call s:Match('cylpackOperator', '\%(' . s:pack_operator . '\)' . s:end)
call s:Match('cylpackLevel', '\%(' . s:pack_level . '\)' . s:end)
call s:Match('cylpackVerb', '\%(' . s:place . '\)' . s:end)
let s:number = '[0-9]\+\%(\.[0-9]\+\)\?'
call s:Match('cylpackQuantity', '[0-9]\+\%(/[1-9][0-9]*\|\.[0-9]\+\)\?' . s:end)
call s:Match('cylpackQuantity', '[0-9]\+\s\+\%(years\?\|months\?\|days\?\)' . s:end)
call s:Match('cylpackQuantity', s:number . '\s*%[A-Za-z0-9._/%-]\@!')
call s:Match('cylpackQuantity', s:number . '\s*\%(psi\|bar\|MPa\|kPa\|mL\|cc\|in3\|ft3\|m3\|min\|ppm\|mg/m3\|psi/min\|bar/min\)' . s:end)
call s:Match('cylpackQuantity', s:number . '\s\+[FCLsh]' . s:end)
call s:Match('cylpackQuantity', '-' . s:number . '\s\+[FC]' . s:end)
call s:Match('cylpackQuantity', '-\?' . s:number . '\s*°[FC]' . s:end)
call s:Match('cylpackDate', '[0-9]\{2}:[0-9]\{2}\%(:[0-9]\{2}\)\?[A-Za-z0-9._/:-]\@!')
call s:Match('cylpackDate', '[0-9]\{4}-[0-9]\{2}\%(-[0-9]\{2}\)\?' . s:end)
call s:Match('cylpackError', '".*')
call s:Match('cylpackText', '"\%([^"\\]\|\\["\\]\)*"', 'contains=cylpackBrace')
call s:Match('cylpackBrace', '{[^{}]*}', 'contained')
call s:Match('cylpackHeader', '^\%(' . s:pack_header . '\)' . s:end)
call s:Match('cylpackComment', '#.*')

syntax cluster cylpackLine contains=cylpackError,cylpackOperator,cylpackName,cylpackClause,cylpackLevel,cylpackVerb,
      \cylpackQuantity,cylpackDate,cylpackText,cylpackComment

execute 'syntax region cylpackLines matchgroup=cylpackProperty contains=@cylpackLine keepend'
      \ 'start=' . "\x01" . '\C^\z(\s\+\)\%(' . s:pack_property . '\)' . s:end . "\x01"
      \ 'end=' . "\x01" . '^\%(\z1\s\+\S\)\@!' . "\x01" . 'me=s-1'

execute 'syntax region cylpackExample matchgroup=cylpackProperty contains=@cylRecord,cylpackRecordHeader keepend'
      \ 'start=' . "\x01" . '\C^\z(\s\+\)\%(breaks\|keeps\)' . s:end . "\x01"
      \ 'end=' . "\x01" . '^\%(\z1\s\+\S\|\s*$\|\s*#\)\@!' . "\x01" . 'me=s-1'
call s:Match('cylpackRecordHeader', '\%(^\s\+\)\@<=\%(' . s:header . '\)' . s:end, 'contained')

highlight default link cylpackComment Comment
highlight default link cylpackHeader Title
highlight default link cylpackRecordHeader Title
highlight default link cylpackProperty Identifier
highlight default link cylpackVerb Function
highlight default link cylpackLevel Boolean
highlight default link cylpackClause Keyword
highlight default link cylpackOperator Operator
highlight default link cylpackDate Special
highlight default link cylpackQuantity Number
highlight default link cylpackName Normal
highlight default link cylpackText String
highlight default link cylpackBrace SpecialChar
highlight default link cylpackError Error

let b:current_syntax = 'cylpack'
