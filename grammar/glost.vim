" Made from grammar/glost.lark by python -m tests.generate highlight
if exists('b:current_syntax')
  finish
endif
syntax match glostField /^\a[A-Za-z -]*:/
syntax match glostField /^ \+\%(test\|batch\|body\|place\|surface\|colour\|flow\|faults\|photo\|remarks\):/
syntax match glostHead /^\%(base \+blend\|blend\|base \+variation\|base \+series\|variation\|series\|additions\|handling\|notes\|base\|tile\|schedule\)\%( \+\"[^\"]*\"\)\?\%( \+by \+[0-9.]\+ *%\)\?:/ contains=glostName
syntax match glostKind /^\%(glaze\|engobe\|slip\|wash\|body\|firing\) \+\ze\"/ nextgroup=glostName
syntax match glostName /"[^"]*"/ contained
syntax match glostAmount /\%( \|, *\)\@<=[0-9.]\+\%( *\%(%\|g\|kg\|oz\|lb\)\)\?\ze *\%($\|#\|(\|,\)/
syntax match glostAmount /^ \+\%(from\|to\) .*/ contains=glostComment
syntax match glostNote /([^()]*)/
syntax match glostComment /\%(^\| \)\@<=#.*$/
highlight default link glostField Identifier
highlight default link glostHead Statement
highlight default link glostKind Type
highlight default link glostName String
highlight default link glostAmount Number
highlight default link glostNote Special
highlight default link glostComment Comment
let b:current_syntax = 'glost'
